package daemon

import (
	"context"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/pump"
)

// Relay switches a pump. Set is called with every sample: an order to be on that
// is not renewed lapses.
type Relay interface{ Set(on bool) error }

// Pump is the electric pump of a press.
type Pump struct {
	Control pump.Config
	Relay   Relay
}

// pumping is a pump at work.
type pumping struct {
	relay   Relay
	control *pump.Controller
	run     string // for which it was locked or freed
}

func newPumping(p *Pump) *pumping {
	if p == nil {
		return nil
	}
	return &pumping{relay: p.Relay, control: pump.New(p.Control)}
}

// switchPump lets the controller judge the newest sample, and the relay follow it.
// The events are the run's.
func (s *Station) switchPump() []press.Event {
	p := s.pump
	if p == nil {
		return nil
	}
	if id := s.run.ID(); id != p.run {
		p.run = id
		p.control.Free()
	}
	if s.run.PumpIsLocked() && p.control.Locked() == "" {
		p.control.Lock(pump.Restarted) // its record says so; why is in the event there
	}
	var events []press.Event
	if s.run.PumpRuns() && !p.control.On() {
		events = s.run.Pump(false, string(pump.Restarted))
	}
	changes := p.control.Advance(s.run.Clamp())
	if err := p.relay.Set(p.control.On()); err != nil && (p.control.Locked() == "" || p.control.On()) {
		s.shared.log.Error("pump cannot be switched", "press", s.cfg.Press, "on", p.control.On(), "error", err)
		changes = append(changes, p.control.Lock(pump.SwitchFail)...)
	}
	for _, c := range changes {
		events = append(events, s.tellPump(c)...)
	}
	return events
}

func (s *Station) tellPump(c pump.Change) []press.Event {
	s.shared.log.Info("pump", "press", s.cfg.Press, "on", c.On, "locked", c.Locked, "why", c.Why)
	if c.Locked {
		return s.run.LockPump(string(c.Why))
	}
	return s.run.Pump(c.On, string(c.Why))
}

// calibrated is a feed that knows which corrections its readings have.
type calibrated interface{ Calibration() string }

// tellCalibration writes into the run which corrections its readings have.
func (s *Station) tellCalibration() []press.Event {
	if feed, ok := s.feed.(calibrated); ok {
		return s.run.Calibrated(feed.Calibration())
	}
	return nil
}

// freePump lets a locked pump run again: somebody has looked after it.
func (s *Station) freePump(ctx context.Context) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.pump == nil || s.pump.control.Locked() == "" {
		return
	}
	s.pump.control.Free()
	s.settle(ctx, s.run.FreePump(string(pump.Attended)))
	s.show(s.now())
}

// pumpStatus is how the pump is doing; nil: there is none.
func (s *Station) pumpStatus() *press.PumpStatus {
	if s.pump == nil {
		return nil
	}
	c := s.pump.control
	return &press.PumpStatus{On: c.On(), Starts: c.Starts(), Locked: string(c.Locked())}
}
