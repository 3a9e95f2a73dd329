package daemon

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/cure/layup"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

// maxNote is the longest note that is taken, in bytes.
const maxNote = 4000

// maxLayup is the longest lay-up file that is taken, in bytes.
const maxLayup = 16 << 10

// Start begins a run: glue is being spread. A run that began by itself, because
// the pump was quicker than the builder's word, takes the order's particulars
// over and is worked out again from its record.
func (s *Station) Start(ctx context.Context, o press.StartOrder) (press.Status, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.checkStart(o); err != nil {
		return press.Status{}, err
	}
	cfg, row := s.plan(o)
	switch stage := s.run.Stage(); {
	case stage == press.Idle:
	case stage == press.Release && !s.run.Open():
		return press.Status{}, press.Errorf(press.WrongStage,
			"press %s is still under vacuum; open the bag before the next run", s.cfg.Press)
	case stage == press.Release:
	case s.adoptable():
		return s.adopt(ctx, cfg, row)
	default:
		return press.Status{}, press.Errorf(press.WrongStage,
			"press %s already has run %s, in its %s; release it first, or set its adhesive with `nightclamp glue set`",
			s.cfg.Press, s.run.ID(), stage)
	}
	s.run, s.row, s.finished = press.New(cfg), row, nil
	if !s.sample.Time.IsZero() {
		s.run.Advance(s.sample) // so that the run knows how warm the shop is
	}
	at := o.At
	if at.IsZero() {
		at = s.now()
	}
	s.settle(ctx, s.run.Start(at))
	s.show(s.now())
	return s.newest, nil
}

// adoptable reports whether nobody has said yet what the present run is, or only
// that it is none.
func (s *Station) adoptable() bool {
	return (s.row.Work == "" || s.row.Work == press.EmptyBag) && s.row.Notes == "" && s.row.Plies == 0
}

func (s *Station) adopt(ctx context.Context, cfg press.Config, row record.Run) (press.Status, error) {
	row.ID, row.Started = s.row.ID, s.row.Started
	run, events, err := s.workOut(ctx, cfg)
	if err != nil {
		return press.Status{}, err
	}
	s.run, s.row = run, row
	s.settle(ctx, append(events, run.Note("started after the pump: "+row.Work)...))
	s.show(s.now())
	return s.newest, nil
}

// workOut makes the present run anew from its record with another cfg.
func (s *Station) workOut(ctx context.Context, cfg press.Config) (*press.Run, []press.Event, error) {
	if err := s.shared.store.Flush(ctx); err != nil {
		return nil, nil, press.Errorf(press.Failed, "the record cannot be written, so the run cannot be worked out again: %v", err)
	}
	run, events, err := rebuild(ctx, s.shared.store, s.run.ID(), cfg)
	if err != nil {
		return nil, nil, press.Errorf(press.Failed, "the run cannot be worked out again: %v", err)
	}
	return run, events, nil
}

func (s *Station) now() time.Time {
	if s.sample.Time.IsZero() {
		return time.Now().UTC()
	}
	return s.sample.Time
}

func (s *Station) checkStart(o press.StartOrder) error {
	if len(o.Layup) > maxLayup {
		return press.Errorf(press.BadOrder, "a lay-up file of %d bytes is too long; at most %d", len(o.Layup), maxLayup)
	}
	if _, err := layup.Parse("lay-up", []byte(o.Layup)); o.Layup != "" && err != nil {
		return press.Errorf(press.BadOrder, "%v", err)
	}
	withLayup(&o)
	if _, _, err := s.sheet(o.Glue, o.Sheet); err != nil {
		return press.Errorf(press.BadOrder, "%v", err)
	}
	if f := o.FloorPa; f.Known() && f != 0 && (f < 1e3 || f > 101e3) {
		return press.Errorf(press.BadOrder, "a floor of %s cannot be had or clamps nothing; give one between %s and %s",
			s.cfg.Display.Pressure(float64(f)), s.cfg.Display.Pressure(1e3), s.cfg.Display.Pressure(101e3))
	}
	if len(o.Notes) > maxNote {
		return press.Errorf(press.BadOrder, "notes of %d bytes are too long; at most %d", len(o.Notes), maxNote)
	}
	return nil
}

// Release closes the run: the builder opens the bag.
func (s *Station) Release(ctx context.Context) (press.Status, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.mustRun(); err != nil {
		return press.Status{}, err
	}
	s.settle(ctx, s.run.Release())
	s.show(s.now())
	return s.newest, nil
}

// Mark writes something the builder did or saw into the record.
func (s *Station) Mark(ctx context.Context, text string) (press.Status, error) {
	return s.write(ctx, text, func(run *press.Run, text string) []press.Event { return run.Note(text) })
}

// TopUp writes down that the builder pumps, and with how many strokes.
func (s *Station) TopUp(ctx context.Context, text string, strokes int) (press.Status, error) {
	if strokes < 0 || strokes > mostStrokes {
		return press.Status{}, press.Errorf(press.BadOrder, "%d strokes: give how many it took, or leave it out", strokes)
	}
	if strokes > 0 {
		text = fmt.Sprintf("%s (%d strokes)", text, strokes)
	}
	return s.write(ctx, text, func(run *press.Run, text string) []press.Event { return run.TopUp(text, strokes) })
}

// mostStrokes is more than anybody counts.
const mostStrokes = 1000

func (s *Station) write(ctx context.Context, text string, say func(*press.Run, string) []press.Event) (press.Status, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.mustRun(); err != nil {
		return press.Status{}, err
	}
	text = strings.TrimSpace(text)
	if text == "" || len(text) > maxNote {
		return press.Status{}, press.Errorf(press.BadOrder, "a note of %d bytes; write something, at most %d", len(text), maxNote)
	}
	s.settle(ctx, say(s.run, text))
	s.show(s.now())
	return s.newest, nil
}

// SetGlue sets or corrects the adhesive of the present run and works the run
// out again from its record, as if the adhesive had been known from the start.
func (s *Station) SetGlue(ctx context.Context, o press.GlueOrder) (press.Status, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.mustRun(); err != nil {
		return press.Status{}, err
	}
	sheet, text, err := s.sheet(o.Glue, o.Sheet)
	if err != nil {
		return press.Status{}, press.Errorf(press.BadOrder, "%v", err)
	}
	if sheet == nil {
		return press.Status{}, press.Errorf(press.BadOrder, "which adhesive? `nightclamp glue list` names them")
	}
	cfg := s.run.Config()
	cfg.Sheet = sheet
	run, events, err := s.workOut(ctx, cfg)
	if err != nil {
		return press.Status{}, err
	}
	s.run, s.row.Glue, s.row.Sheet = run, sheet.Name, text
	events = append(events, run.Note("adhesive set to "+sheet.Name)...)
	s.settle(ctx, events)
	s.show(s.now())
	return s.newest, nil
}

func (s *Station) mustRun() error {
	if s.run.ID() == "" || s.run.Closed() {
		return press.Errorf(press.WrongStage,
			"there is no run on press %s; begin one with `nightclamp start`", s.cfg.Press)
	}
	return nil
}

// Ack says that somebody looks after an alert.
func (s *Station) Ack(ctx context.Context, o press.AckOrder) ([]press.Alert, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	changed := s.book.Acknowledge(o, s.now())
	if len(changed) == 0 && o.Alert == "" {
		return nil, press.Errorf(press.NotFound, "no alert is active on press %s", s.cfg.Press)
	}
	if len(changed) == 0 {
		return nil, press.Errorf(press.NotFound, "no active alert %q on press %s; `nightclamp alert list` lists them", o.Alert, s.cfg.Press)
	}
	if err := s.shared.store.Commit(ctx, record.Batch{Alerts: changed}); err != nil {
		return nil, press.Errorf(press.Failed, "%v", err)
	}
	s.send(ctx, nil, changed)
	s.show(s.now())
	return changed, nil
}
