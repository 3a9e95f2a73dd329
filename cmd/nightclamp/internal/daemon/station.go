// Package daemon is nightclamp at work: it takes the samples of every press,
// lets [press.Run] judge them, and hands what comes of it to the record, the
// wire, the metrics, the page and the alerts.
//
// A [Station] is one press. A [Daemon] is all of them with what they share.
package daemon

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor"
)

// Feed gives the samples of one press, at the pace of the press, until ctx ends
// or there are no more. A part that fails is the feed's own business and shows in
// the samples' quality; an error of Run ends the daemon.
type Feed interface {
	Run(ctx context.Context, take func(sensor.Sample)) error
	Health() []press.SensorStatus
}

// Sheets finds adhesive datasheets by name.
type Sheets func(name string) (*cure.Sheet, []byte, error)

// StationConfig is what a station must know about its press.
type StationConfig struct {
	Site    string
	Press   string
	Glue    string  // the adhesive of a run that nobody started; empty: none
	FloorPa float64 // 0: press.DefaultFloor
	Relaxed bool    // the work is flat unless the builder says otherwise
	// FreeVolumeM3 and StrokeM3 are of the bag and of its hand pump, m³; 0: not known.
	FreeVolumeM3, StrokeM3 float64
	Display                units.Display
	Stack                  cure.GlueLineConfig // how the glue line follows the air, where no lay-up tells
	Shop                   cure.ShopConfig     // what is known of the shop's nights
	Pump                   *Pump               // nil: none is switched
}

// Link carries what a station has to say to others.
type Link interface {
	Sample(pressName, run string, s sensor.Sample)
	Event(ctx context.Context, e press.Event) error
	Alert(ctx context.Context, a press.Alert) error
	Status(st press.Status) error
}

// shared is what the stations of one daemon use together.
type shared struct {
	store   *record.Store
	link    Link
	ways    alert.Ways
	sheets  Sheets
	log     *slog.Logger
	keeper  *keeper
	changed func()                 // tells the page that a status changed
	queued  func()                 // tells the dispatcher that the outbox has something
	unkept  func([]press.Delivery) // gives the dispatcher what the outbox could not take
	alerted func()                 // tells that an alert changed
}

// Station is one press under watch. Its methods may be called from several
// goroutines.
type Station struct {
	cfg    StationConfig
	shared shared
	feed   Feed

	mu       sync.Mutex
	run      *press.Run
	pump     *pumping      // nil: there is none
	row      record.Run    // what is kept of the run
	finished *press.Status // the run before, while the press is idle
	book     *alert.Book
	hours    hours
	weather  press.Weather // what was told of the coming hours
	owed     record.Batch  // what the record has not taken yet
	failing  error         // why it has not
	shownAt  time.Time     // sample time of the newest status that was sent
	newest   press.Status
	sample   sensor.Sample
	taken    time.Time // when the newest sample came in, monotonic
}

func newStation(cfg StationConfig, feed Feed, sh shared) *Station {
	s := &Station{cfg: cfg, feed: feed, shared: sh, pump: newPumping(cfg.Pump)}
	s.book = alert.NewBook(alert.Config{Display: cfg.Display})
	s.idle()
	return s
}

// idle puts a fresh run on the press, with the defaults of the config: if the
// pump starts before anybody says `start`, the run begins by itself.
func (s *Station) idle() {
	cfg, row := s.plan(press.StartOrder{FloorPa: press.Unknown()})
	s.run, s.row = press.New(cfg), row
}

// plan turns an order into what the engine and the record are told. An adhesive
// that cannot be read is left out, with a word in the log: a run without a
// press time is watched all the same.
func (s *Station) plan(o press.StartOrder) (press.Config, record.Run) {
	stack := withLayup(&o)
	cfg := press.Config{
		Site: s.cfg.Site, Press: s.cfg.Press, Work: o.Work, Display: s.cfg.Display,
		Stack: s.stack(stack), Shop: s.cfg.Shop, Before: s.hours.before(s.now()),
		FloorPa: o.FloorPa.Or(s.cfg.FloorPa), Relaxed: s.cfg.Relaxed,
		FreeVolumeM3: s.cfg.FreeVolumeM3, StrokeM3: s.cfg.StrokeM3,
	}
	if cfg.FloorPa == 0 {
		cfg.FloorPa = press.DefaultFloor
	}
	if o.Strained != nil {
		cfg.Relaxed = !*o.Strained
	}
	row := record.Run{
		Site: s.cfg.Site, Press: s.cfg.Press, Work: o.Work, FloorPa: cfg.FloorPa,
		Strained: !cfg.Relaxed, Plies: o.Plies, AreaM2: o.AreaM2, Notes: o.Notes,
		Layup: layupText(o.Layup),
	}
	sheet, text, err := s.sheet(o.Glue, o.Sheet)
	switch {
	case err != nil:
		s.shared.log.Error("adhesive cannot be read", "press", s.cfg.Press, "error", err)
	case sheet != nil:
		cfg.Sheet, row.Glue, row.Sheet = sheet, sheet.Name, text
	}
	return cfg, row
}

// stack is how the glue line follows the air: as the lay-up has it, else as the
// config has it.
func (s *Station) stack(layup cure.GlueLineConfig) cure.GlueLineConfig {
	if layup.Lag == 0 {
		return s.cfg.Stack
	}
	layup.Heated = layup.Heated || s.cfg.Stack.Heated
	return layup
}

// sheet is the datasheet that an order means: its own text, the one it names,
// the press's default, or none.
func (s *Station) sheet(name, text string) (*cure.Sheet, []byte, error) {
	if name == "" {
		name = s.cfg.Glue
	}
	switch {
	case text != "":
		sheet, err := cure.ParseSheet(name, []byte(text))
		return sheet, []byte(text), err
	case name != "":
		return s.shared.sheets(name)
	}
	return nil, nil, nil
}

// Run takes samples until ctx ends or the feed does.
func (s *Station) Run(ctx context.Context) error {
	return s.feed.Run(ctx, func(sample sensor.Sample) { s.Take(ctx, sample) })
}

// Take carries one sample all the way: engine, record, wire, alerts.
func (s *Station) Take(ctx context.Context, sample sensor.Sample) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.sample, s.taken = sample, time.Now()
	events := s.run.Advance(sample)
	events = append(events, s.switchPump()...) // before anything that may take its time
	events = append(events, s.tellCalibration()...)
	events = append(events, s.followWeather(sample.Time)...)
	events = append(events, s.unwatched(sample.Time)...)
	due := len(events) > 0 || sample.Time.Sub(s.shownAt) >= time.Second
	s.shared.link.Sample(s.cfg.Press, s.run.ID(), sample)
	s.keepHour(ctx, sample.Time)
	if due {
		s.settle(ctx, events)
	}
	s.keepSample(ctx, sample)
	if s.run.Closed() && s.run.Open() {
		done := s.status()
		s.finished = &done
		s.idle()
	}
	if due {
		s.show(sample.Time)
	}
}

// show tells everybody the present status, once a second of sample time and
// whenever something happened.
func (s *Station) show(at time.Time) {
	s.shownAt = at
	s.newest = s.status()
	if err := s.shared.link.Status(s.newest); err != nil {
		s.shared.log.Warn("status not sent", "press", s.cfg.Press, "error", err)
	}
	s.shared.changed()
}

// Status returns what was shown last, with the parts' present health.
func (s *Station) Status() press.Status {
	s.mu.Lock()
	defer s.mu.Unlock()
	st := s.newest
	if st.Press == "" {
		st = s.status()
	}
	st.Sensors = s.feed.Health()
	st.Todo = s.shared.keeper.openTodo(s.cfg.Press)
	return st
}

// status is the engine's, and the finished run's story while the press is idle.
func (s *Station) status() press.Status {
	st := s.run.Status()
	if st.Stage == press.Idle && s.finished != nil {
		st = afterwards(st, *s.finished)
	}
	st.Pump = s.pumpStatus()
	st.Weather = nil
	if told := s.weather; told.Told() {
		st.Weather = &told
	}
	st.Alerts = s.book.Active()
	st.Sensors = s.feed.Health()
	st.Todo = s.shared.keeper.openTodo(s.cfg.Press)
	return st
}

// afterwards is the finished run with the readings of now.
func afterwards(now, finished press.Status) press.Status {
	st := finished
	if now.Time.IsZero() {
		return st
	}
	st.Time, st.VacuumPa, st.BagPa, st.AmbientPa = now.Time, now.VacuumPa, now.BagPa, now.AmbientPa
	st.GluelineC, st.AirC = now.GluelineC, now.AirC
	st.HumidityPct, st.WoodPct, st.WoodWanted = now.HumidityPct, now.WoodPct, now.WoodWanted
	st.Samples += now.Samples
	return st
}

// Alerts returns the alerts that are active.
func (s *Station) Alerts() []press.Alert {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.book.List()
}

func (s *Station) takenAt() time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.taken
}

// progressAt is the clamped progress at each of the moments.
func (s *Station) progressAt(moments []time.Time) []press.Num {
	s.mu.Lock()
	defer s.mu.Unlock()
	list := make([]press.Num, len(moments))
	for i, at := range moments {
		list[i] = s.run.ProgressAt(at)
	}
	return list
}
