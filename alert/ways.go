package alert

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// Way is one configured way out.
type Way struct {
	Name    string         // unique; "log" is taken
	URL     string         // secret: never logged, never stored
	AtLeast press.Severity // what it is told of; empty: everything
	After   time.Duration  // told only of what nobody has acknowledged for this long: the next person to ask
	Quiet   Quiet          // when it is told only of what wakes
}

// Sender hands one message to whoever carries it on. An error that is worth no
// further try wraps [ErrPermanent]. No error text holds a secret.
type Sender interface {
	Send(ctx context.Context, d press.Delivery) error
}

// ErrPermanent marks a failure that trying again does not mend: a wrong token,
// an address that does not exist.
var ErrPermanent = errors.New("trying again will not help")

// LogWay is the name of the way that is always there.
const LogWay = "log"

// Ways are all the ways out, opened. Its zero value tells nobody.
type Ways struct{ list []openWay }

type openWay struct {
	Way
	sender Sender
}

// NewWays opens the configured ways, and the log besides. It sends nothing.
func NewWays(list []Way, log *slog.Logger) (Ways, error) {
	ways := Ways{list: []openWay{{Way{Name: LogWay, AtLeast: press.Note}, logSender{log}}}}
	for _, w := range list {
		if w.AtLeast == "" {
			w.AtLeast = press.Note
		}
		switch {
		case w.Name == "":
			return Ways{}, errors.New("a way out for alerts has no name; give each one a name of its own")
		case ways.named(w.Name) != nil:
			return Ways{}, fmt.Errorf("two ways out for alerts are named %q; give each one a name of its own (%q is always there)", w.Name, LogWay)
		case rank(w.AtLeast) < 0:
			return Ways{}, fmt.Errorf("way %q: at_least %q is no severity; use note, warn or wake", w.Name, w.AtLeast)
		}
		sender, err := openSender(w.URL)
		if err != nil {
			return Ways{}, fmt.Errorf("way %q: %w", w.Name, err)
		}
		ways.list = append(ways.list, openWay{w, sender})
	}
	return ways, nil
}

func (w Ways) named(name string) *openWay {
	i := slices.IndexFunc(w.list, func(o openWay) bool { return o.Name == name })
	if i < 0 {
		return nil
	}
	return &w.list[i]
}

// Names lists the ways.
func (w Ways) Names() []string {
	names := make([]string, len(w.list))
	for i, o := range w.list {
		names[i] = o.Name
	}
	return names
}

// Deliveries writes the messages that the changes of alerts give rise to: one
// for each way that is told of an alert that loud. They belong into the outbox
// in the transaction that keeps the alerts.
func (w Ways) Deliveries(alerts []press.Alert) []press.Delivery {
	now := time.Now().UTC()
	var list []press.Delivery
	for _, a := range alerts {
		if !worthTelling(a) {
			continue
		}
		for _, o := range w.list {
			if d, tell := o.delivery(a, now); tell {
				list = append(list, d)
			}
		}
	}
	return list
}

// delivery is what the way is told of a change, and when.
func (o openWay) delivery(a press.Alert, now time.Time) (press.Delivery, bool) {
	if rank(a.Severity) < rank(o.AtLeast) {
		return press.Delivery{}, false
	}
	d := delivery(a, o.Name, now)
	if o.After > 0 {
		first := a.State == press.AlertRaised && a.At.Equal(a.RaisedAt)
		if asked := a.At.Sub(a.RaisedAt) >= o.After; !asked && !first {
			return press.Delivery{}, false // it has not been asked yet, or waits to be
		}
		if first {
			d.DueAt = now.Add(o.After)
		}
	}
	if d.Severity != press.Wake {
		d.DueAt = o.Quiet.after(d.DueAt)
	}
	return d, true
}

// worthTelling leaves out what people need not hear: that they acknowledged,
// and that a problem ended with the run or in a greater problem.
func worthTelling(a press.Alert) bool {
	switch a.State {
	case press.AlertRaised:
		return true
	case press.AlertCleared:
		return slices.ContainsFunc(everyRow(), func(r row) bool {
			return r.name == a.Name && slices.Contains(r.told, press.Kind(a.Reason))
		})
	}
	return false
}

func delivery(a press.Alert, way string, now time.Time) press.Delivery {
	d := press.Delivery{
		Key:     fmt.Sprintf("%s|%s|%d|%s", a.ID, a.State, a.At.UnixNano(), way),
		AlertID: a.ID, Way: way, Severity: a.Severity,
		Title: Title(a), Text: a.Text, Created: now, DueAt: now,
	}
	if a.State == press.AlertCleared {
		d.Severity = press.Note // good news wakes nobody
	}
	return d
}

// Title is the first line of a message about the alert: of which press, and what.
func Title(a press.Alert) string {
	about := a.Name
	if i := slices.IndexFunc(everyRow(), func(r row) bool { return r.name == a.Name }); i >= 0 {
		about = everyRow()[i].about
	}
	if a.State == press.AlertCleared {
		about = "over: " + about
	}
	return a.Press + ": " + about
}

// logSender is the way that is always there.
type logSender struct{ log *slog.Logger }

// Send writes the message to the log, where it cannot fail.
func (l logSender) Send(ctx context.Context, d press.Delivery) error {
	level := slog.LevelInfo
	if d.Severity != press.Note {
		level = slog.LevelWarn
	}
	l.log.Log(ctx, level, "alert", "severity", d.Severity, "title", d.Title, "text", d.Text, "id", d.AlertID)
	return nil
}
