package daemon

import (
	"context"

	"github.com/nightclamp/nightclamp/press"
)

// DropTest begins a drop test, or ends it.
func (d *Daemon) DropTest(ctx context.Context, o press.DropTestOrder) (press.Status, error) {
	s, err := d.station(o.Press)
	if err != nil {
		return press.Status{}, err
	}
	return s.DropTest(ctx, o)
}

// DropTest begins a drop test, or ends it. On an idle press it tests the empty
// bag: the run that keeps it in the record has no adhesive.
func (s *Station) DropTest(ctx context.Context, o press.DropTestOrder) (press.Status, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if o.Empty && s.run.Stage() != press.Idle && !s.run.Closed() && !s.adoptable() {
		return press.Status{}, press.Errorf(press.WrongStage,
			"run %s is on press %s, so the bag is not empty; test it as it is, or release the run first", s.run.ID(), s.cfg.Press)
	}
	if s.run.Closed() && s.run.Open() {
		s.idle() // the samples of the run before are no longer needed
		s.run.Advance(s.sample)
	}
	events, err := s.run.DropTest(o)
	if err != nil {
		return press.Status{}, err
	}
	if s.run.Config().Work == press.EmptyBag && s.row.Work != press.EmptyBag {
		s.row.Work, s.row.Glue, s.row.Sheet, s.finished = press.EmptyBag, "", nil, nil
	}
	s.settle(ctx, events)
	s.show(s.now())
	return s.newest, nil
}
