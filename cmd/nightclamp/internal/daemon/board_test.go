package daemon

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/cure/datasheets"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/units"
)

// alertsOnly is a Link that keeps the names of the alerts it was given.
type alertsOnly struct {
	Unlinked
	mu    sync.Mutex
	names []string
}

func (l *alertsOnly) Alert(_ context.Context, a press.Alert) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.names = append(l.names, a.Name)
	return nil
}

// TestTheBoardsTroublesAreRaised lets everything be wrong that the board can tell
// of itself, as the kernel's files and the daemon have it, and follows it to the
// record, the outbox and the wire.
func TestTheBoardsTroublesAreRaised(t *testing.T) {
	sys := t.TempDir()
	for name, text := range map[string]string{
		"class/hwmon/hwmon3/name": "rpi_volt\n", "class/hwmon/hwmon3/in0_lcrit_alarm": "1\n", "class/thermal/thermal_zone0/temp": "86000\n",
	} {
		path := filepath.Join(sys, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o750); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	store, link := openStore(t, filepath.Join(t.TempDir(), "n.db")), &alertsOnly{}
	ways, err := alert.NewWays(nil, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	failing := []press.WayHealth{{Name: "phone", Failing: time.Now().Add(-time.Hour), Error: "connection refused"}}
	full := func(string) (uint64, uint64, error) { return 30 << 20, 32 << 30, nil }
	faulty := alert.RecordCheck(func() error { return errors.New("disk I/O error") })
	checks := []alert.Check{
		alert.DiskCheck("/data", full), alert.DeliveryCheck(func() []press.WayHealth { return failing }, units.Display{}),
		alert.PowerCheck(sys), alert.HeatCheck(sys, units.Display{}),
		alert.ClockCheck(func() bool { return false }, time.Now().Add(-time.Hour)),
	}
	d, err := New(t.Context(), Config{
		Stations: []StationConfig{{Site: "boatshed", Press: "sled"}}, Feeds: []Feed{&tape{}}, Store: store, Link: link, Ways: ways,
		Sheets: datasheets.Load, Log: slog.New(slog.DiscardHandler), Board: alert.NewBoard("boatshed", units.Display{}, append(checks, faulty)...),
	})
	if err != nil {
		t.Fatal(err)
	}
	d.tellBoard(t.Context(), d.board.Look(time.Now().UTC()))
	want := []string{alert.RecordFailing, alert.DeliveryFails, alert.PowerWeak, alert.BoardHot, alert.ClockUnset}
	slices.Sort(want)
	kept, err := store.Alerts(t.Context(), record.AlertFilter{Press: alert.BoardName, Active: true})
	if err != nil {
		t.Fatal(err)
	}
	due, err := store.Due(t.Context(), time.Now().Add(time.Hour), 100)
	if err != nil {
		t.Fatal(err)
	}
	var inRecord, inOutbox []string
	for _, a := range kept {
		inRecord = append(inRecord, a.Name)
	}
	for _, m := range due {
		i := slices.IndexFunc(kept, func(a press.Alert) bool { return a.ID == m.AlertID })
		inOutbox = append(inOutbox, kept[i].Name)
	}
	for what, names := range map[string][]string{"record": inRecord, "outbox": inOutbox, "wire": link.names} {
		slices.Sort(names)
		if !slices.Equal(names, want) {
			t.Errorf("%s has %v, want %v (a full disk is part of a record that fails)", what, names, want)
		}
	}
	for _, st := range d.Statuses() {
		if len(st.Alerts) != 0 {
			t.Errorf("the board's troubles are told as those of %s: %v", st.Press, st.Alerts)
		}
	}
	if got := d.ActiveAlerts(); len(got) != len(want) {
		t.Errorf("active: %v", got)
	}
}
