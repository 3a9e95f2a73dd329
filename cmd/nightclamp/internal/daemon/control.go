package daemon

import (
	"context"
	"strings"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/press"
)

// The methods of this file are the orders that come over the wire and from the
// page. A press that is not named is the only one there is.

func (d *Daemon) station(name string) (*Station, error) {
	if name == "" && len(d.stations) == 1 {
		return d.stations[0], nil
	}
	names := make([]string, len(d.stations))
	for i, s := range d.stations {
		if s.cfg.Press == name {
			return s, nil
		}
		names[i] = s.cfg.Press
	}
	if name == "" {
		return nil, press.Errorf(press.BadOrder, "which press? there are %s: name one", strings.Join(names, ", "))
	}
	return nil, press.Errorf(press.NotFound, "no press %q; there are %s", name, strings.Join(names, ", "))
}

// StatusOf returns the status of one press, or of all when name is empty.
func (d *Daemon) StatusOf(name string) ([]press.Status, error) {
	if name == "" {
		return d.Statuses(), nil
	}
	s, err := d.station(name)
	if err != nil {
		return nil, err
	}
	return []press.Status{s.Status()}, nil
}

// Statuses returns the status of every press.
func (d *Daemon) Statuses() []press.Status {
	all := make([]press.Status, len(d.stations))
	for i, s := range d.stations {
		all[i] = s.Status()
	}
	return all
}

// Start begins a run.
func (d *Daemon) Start(ctx context.Context, o press.StartOrder) (press.Status, error) {
	s, err := d.station(o.Press)
	if err != nil {
		return press.Status{}, err
	}
	return s.Start(ctx, o)
}

// Release ends a run.
func (d *Daemon) Release(ctx context.Context, o press.MarkOrder) (press.Status, error) {
	s, err := d.station(o.Press)
	if err != nil {
		return press.Status{}, err
	}
	if o.Text != "" {
		if _, err := s.Mark(ctx, o.Text); err != nil {
			return press.Status{}, err
		}
	}
	return s.Release(ctx)
}

// TopUp notes that the builder pumps. The engine sees the vacuum rise by itself,
// or that it does not. An electric pump that was locked may run again: somebody has
// been there.
func (d *Daemon) TopUp(ctx context.Context, o press.MarkOrder) (press.Status, error) {
	if o.Text == "" {
		o.Text = "pumped up by hand"
	} else {
		o.Text = "pumped up by hand: " + o.Text
	}
	s, err := d.station(o.Press)
	if err != nil {
		return press.Status{}, err
	}
	s.freePump(ctx)
	return s.TopUp(ctx, o.Text, o.Strokes)
}

// Note writes the builder's words into the record.
func (d *Daemon) Note(ctx context.Context, o press.MarkOrder) (press.Status, error) {
	s, err := d.station(o.Press)
	if err != nil {
		return press.Status{}, err
	}
	return s.Mark(ctx, o.Text)
}

// SetGlue sets or corrects the adhesive of a run.
func (d *Daemon) SetGlue(ctx context.Context, o press.GlueOrder) (press.Status, error) {
	s, err := d.station(o.Press)
	if err != nil {
		return press.Status{}, err
	}
	return s.SetGlue(ctx, o)
}

// Alerts returns the active alerts of one press, or of all and of the board.
func (d *Daemon) Alerts(_ context.Context, name string) ([]press.Alert, error) {
	if name == "" {
		return d.ActiveAlerts(), nil
	}
	if name == alert.BoardName && d.board != nil {
		return d.board.List(), nil
	}
	s, err := d.station(name)
	if err != nil {
		return nil, err
	}
	return s.Alerts(), nil
}

// Acknowledge says that somebody looks after an alert.
func (d *Daemon) Acknowledge(ctx context.Context, o press.AckOrder) ([]press.Alert, error) {
	if o.Press == "" {
		o.Press = d.pressOf(o.Alert)
	}
	if o.Press == alert.BoardName && d.board != nil {
		return d.ackBoard(ctx, o)
	}
	s, err := d.station(o.Press)
	if err != nil {
		return nil, err
	}
	return s.Ack(ctx, o)
}

// pressOf is the press whose active alert has this ID or name, where only one has.
func (d *Daemon) pressOf(alertName string) string {
	found := ""
	for _, a := range d.ActiveAlerts() {
		if a.ID == alertName {
			return a.Press
		}
		if a.Name != alertName {
			continue
		}
		if found != "" && found != a.Press {
			return ""
		}
		found = a.Press
	}
	return found
}
