package daemon

import (
	"context"
	"errors"
	"time"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

// restoreBoard takes up the board's alerts that the record has active.
func (d *Daemon) restoreBoard(ctx context.Context) error {
	if d.board == nil {
		return nil
	}
	active, err := d.shared.store.Alerts(ctx, record.AlertFilter{Press: alert.BoardName, Active: true})
	if err != nil {
		return err
	}
	d.board.Restore(active)
	return nil
}

// watchBoard looks after the board itself until ctx ends.
func (d *Daemon) watchBoard(ctx context.Context) error {
	tick := time.NewTicker(d.board.LookEvery())
	defer tick.Stop()
	for {
		if changed := d.board.Look(time.Now().UTC()); len(changed) > 0 {
			d.tellBoard(ctx, changed)
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
		}
	}
}

// tellBoard keeps and sends what changed. An alert that says that the record
// cannot be written must go out without it.
func (d *Daemon) tellBoard(ctx context.Context, changed []press.Alert) {
	deliveries := d.shared.ways.Deliveries(changed)
	err := d.shared.store.Commit(context.WithoutCancel(ctx), record.Batch{Alerts: changed, Deliveries: deliveries})
	if err != nil {
		d.log.Error("alert of the board not kept", "error", err)
		d.shared.unkept(deliveries)
	} else {
		d.shared.queued()
	}
	for _, a := range changed {
		if err := d.shared.link.Alert(ctx, a); err != nil {
			d.log.Warn("alert not sent", "alert", a.Name, "error", err)
		}
	}
	d.shared.alerted()
	d.watchers.tell()
}

// ActiveAlerts lists the alerts of all presses and of the board.
func (d *Daemon) ActiveAlerts() []press.Alert {
	list := []press.Alert{}
	for _, s := range d.stations {
		list = append(list, s.Alerts()...)
	}
	if d.board != nil {
		list = append(list, d.board.List()...)
	}
	return list
}

// BoardAlerts lists the alerts of the board itself.
func (d *Daemon) BoardAlerts() []press.Alert {
	if d.board == nil {
		return nil
	}
	return d.board.List()
}

// AlertState says what has become of an alert, and whether there is one.
func (d *Daemon) AlertState(id string) (press.AlertState, bool) {
	for _, a := range d.ActiveAlerts() {
		if a.ID == id {
			return a.State, true
		}
	}
	return press.AlertCleared, false
}

// RecordFailing is why the record has not been written lately; nil: it has.
func (d *Daemon) RecordFailing() error {
	var failing []error
	for _, s := range d.stations {
		s.mu.Lock()
		failing = append(failing, s.failing)
		s.mu.Unlock()
	}
	return errors.Join(failing...)
}

// ackBoard acknowledges an alert of the board.
func (d *Daemon) ackBoard(ctx context.Context, o press.AckOrder) ([]press.Alert, error) {
	changed := d.board.Acknowledge(o, time.Now().UTC())
	if len(changed) == 0 {
		return nil, press.Errorf(press.NotFound, "no active alert %q of the board; `nightclamp alert list` lists them", o.Alert)
	}
	d.tellBoard(ctx, changed)
	return changed, nil
}
