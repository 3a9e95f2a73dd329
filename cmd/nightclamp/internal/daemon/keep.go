package daemon

import (
	"context"
	"encoding/json"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
)

// owedAtMost bounds what waits in memory for a record that cannot be written.
const owedAtMost = 10_000

// settle judges the events, keeps them and sends them, in this order: what was
// not kept is not told. It is also called when nothing happened: some alerts end
// by themselves, and what the record did not take is tried again.
func (s *Station) settle(ctx context.Context, events []press.Event) {
	events = append(events, s.judgeBag(ctx, events)...)
	st := s.run.Status()
	alerts := s.book.Advance(events, st)
	if len(events) == 0 && len(alerts) == 0 && s.owed.Run == nil {
		return
	}
	for _, e := range events {
		s.shared.log.Info("event", "press", e.Press, "kind", e.Kind, "run", e.Run, "sample_time", e.Time)
	}
	s.owe(st, events, alerts)
	s.commit(ctx)
	s.send(ctx, events, alerts)
	if len(alerts) > 0 {
		s.shared.alerted()
	}
}

// owe adds to what the record has not taken yet. Without a run there is nothing
// that events could belong to.
func (s *Station) owe(st press.Status, events []press.Event, alerts []press.Alert) {
	if st.Run != "" {
		s.describeRun(st)
		row := s.row
		s.owed.Run = &row
		s.owed.Due = s.owed.Due || (s.shared.keeper.BuildLog != "" && !row.Ended.IsZero())
	}
	s.owed.Events = append(s.owed.Events, events...)
	s.owed.Alerts = append(s.owed.Alerts, alerts...)
	s.owed.Deliveries = append(s.owed.Deliveries, s.shared.ways.Deliveries(alerts)...)
}

// describeRun brings the kept row up to what the engine says.
func (s *Station) describeRun(st press.Status) {
	s.row.ID, s.row.Stage, s.row.Verdict, s.row.Started = st.Run, st.Stage, st.Verdict, st.Started
	if s.run.Closed() && s.row.Ended.IsZero() {
		s.row.Ended = st.Time
	}
	final, err := json.Marshal(st)
	if err != nil {
		s.shared.log.Error("status cannot be written", "press", s.cfg.Press, "error", err)
		return
	}
	s.row.Final = final
}

// commit writes what is owed. When that fails it stays owed and is tried with
// the next events, or the next second.
func (s *Station) commit(ctx context.Context) {
	s.failing = s.shared.store.Commit(context.WithoutCancel(ctx), s.owed)
	if err := s.failing; err != nil {
		s.shared.log.Error("record not written; kept in memory and tried again",
			"press", s.cfg.Press, "events_waiting", len(s.owed.Events), "error", err)
		if n := len(s.owed.Events); n > owedAtMost {
			s.owed.Events = s.owed.Events[n-owedAtMost:]
		}
		s.shared.unkept(s.owed.Deliveries)
		return
	}
	queued, over := len(s.owed.Deliveries) > 0, s.owed.Run != nil && !s.owed.Run.Ended.IsZero()
	s.owed = record.Batch{}
	if over {
		s.shared.keeper.runEnded()
	}
	if queued {
		s.shared.queued()
	}
}

func (s *Station) send(ctx context.Context, events []press.Event, alerts []press.Alert) {
	for _, e := range events {
		if err := s.shared.link.Event(ctx, e); err != nil {
			s.shared.log.Warn("event not sent", "press", e.Press, "kind", e.Kind, "error", err)
		}
	}
	for _, a := range alerts {
		if err := s.shared.link.Alert(ctx, a); err != nil {
			s.shared.log.Warn("alert not sent", "press", a.Press, "alert", a.Name, "error", err)
		}
	}
}

// keepSample keeps the samples of a run that is under way.
func (s *Station) keepSample(ctx context.Context, sample sensor.Sample) {
	if s.run.ID() == "" || s.run.Closed() {
		return
	}
	if err := s.shared.store.AddSample(ctx, s.run.ID(), sample); err != nil {
		s.shared.log.Error("sample not kept", "press", s.cfg.Press, "error", err)
	}
}
