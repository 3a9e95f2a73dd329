package alert

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

func TestTheBoardsAlertsLiveLikeOthers(t *testing.T) {
	var fault error
	b := NewBoard("shed", units.Display{}, RecordCheck(func() error { return fault }))
	look := func(minutes int) []press.Alert { return b.Look(night.Add(time.Duration(minutes) * time.Minute)) }
	if got := look(0); len(got) != 0 {
		t.Errorf("all is well, and told %v", got)
	}
	fault = errors.New("no space left on device")
	got := look(1)
	if len(got) != 1 || got[0].Name != RecordFailing || got[0].Press != BoardName || got[0].Severity != press.Warn ||
		!strings.Contains(got[0].Text, "no space left") {
		t.Fatalf("told %+v", got)
	}
	if got := look(2); len(got) != 0 || len(b.List()) != 1 {
		t.Errorf("told again at once: %v", got)
	}
	fault = nil
	got = look(5)
	if len(got) != 1 || got[0].State != press.AlertCleared {
		t.Fatalf("over, and told %+v", got)
	}
	ways, err := NewWays(nil, quiet())
	if err != nil {
		t.Fatal(err)
	}
	if ds := ways.Deliveries(got); len(ds) != 1 || ds[0].Title != "board: over: the record cannot be written" {
		t.Errorf("people are told %v", ds)
	}
}

func TestABoardAlertFromBeforeTheRestartEnds(t *testing.T) {
	b := NewBoard("shed", units.Display{}, RecordCheck(func() error { return errors.New("x") }))
	kept := b.Look(night)
	b = NewBoard("shed", units.Display{}, RecordCheck(func() error { return nil }))
	b.Restore(kept)
	if got := b.Look(night.Add(time.Minute)); len(got) != 1 || got[0].State != press.AlertCleared {
		t.Errorf("told %+v", got)
	}
}

func TestDiskCheck(t *testing.T) {
	free := uint64(1 << 30)
	c := DiskCheck("/data", func(string) (uint64, uint64, error) { return free, 32 << 30, nil })
	for _, s := range []struct {
		mb  uint64
		bad bool
	}{{1000, false}, {201, false}, {199, true}, {240, true}, {260, false}, {201, false}} {
		free = s.mb << 20
		if got := c.Look(night); (got != "") != s.bad {
			t.Errorf("%d MB free: %q", s.mb, got)
		}
	}
	if left, size, err := DiskSpace(t.TempDir()); err == nil && (left == 0 || size < left) {
		t.Errorf("this disk has %d of %d bytes free", left, size)
	}
}

func TestDeliveryCheck(t *testing.T) {
	h := []press.WayHealth{{Name: "log"}, {Name: "phone", Failing: night, Waiting: 3, Error: strings.Repeat("no route to host ", 30)}}
	c := DeliveryCheck(func() []press.WayHealth { return h }, units.Display{})
	if got := c.Look(night.Add(9 * time.Minute)); got != "" {
		t.Errorf("too soon: %q", got)
	}
	got := c.Look(night.Add(11 * time.Minute))
	if !strings.Contains(got, `"phone" since 22:00; 3 wait`) || utf8.RuneCountInString(got) > maxText {
		t.Errorf("says %q", got)
	}
}

// board lays out files as the kernel does under /sys.
func board(t *testing.T, files map[string]string) string {
	t.Helper()
	sys := t.TempDir()
	for name, text := range files {
		path := filepath.Join(sys, name)
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o750), os.WriteFile(path, []byte(text+"\n"), 0o600)); err != nil {
			t.Fatal(err)
		}
	}
	return sys
}

func TestPowerCheck(t *testing.T) {
	for _, c := range []struct {
		files map[string]string
		bad   bool
	}{
		{nil, false},
		{map[string]string{"class/hwmon/hwmon0/name": "cpu_thermal", "class/hwmon/hwmon1/name": "rpi_volt", "class/hwmon/hwmon1/in0_lcrit_alarm": "0"}, false},
		{map[string]string{"class/hwmon/hwmon0/name": "cpu_thermal", "class/hwmon/hwmon1/name": "rpi_volt", "class/hwmon/hwmon1/in0_lcrit_alarm": "1"}, true},
		{map[string]string{"class/hwmon/hwmon0/name": "other", "class/hwmon/hwmon0/in0_lcrit_alarm": "1"}, false},
	} {
		if got := PowerCheck(board(t, c.files)).Look(night); (got != "") != c.bad {
			t.Errorf("%v: %q", c.files, got)
		}
	}
}

func TestHeatCheckHasHysteresis(t *testing.T) {
	sys := board(t, map[string]string{"class/thermal/thermal_zone0/temp": "45000", "class/thermal/thermal_zone1/temp": "garbage"})
	c := HeatCheck(sys, units.Display{})
	for _, s := range []struct {
		milli string
		bad   bool
	}{{"79900", false}, {"80100", true}, {"76000", true}, {"73900", false}, {"79000", false}} {
		if err := os.WriteFile(filepath.Join(sys, "class/thermal/thermal_zone0/temp"), []byte(s.milli), 0o600); err != nil {
			t.Fatal(err)
		}
		if got := c.Look(night); (got != "") != s.bad {
			t.Errorf("%s m°C: %q", s.milli, got)
		}
	}
}

func TestClockCheckGivesAStartedBoardTime(t *testing.T) {
	c := ClockCheck(func() bool { return false }, night)
	if got := c.Look(night.Add(5 * time.Minute)); got != "" {
		t.Errorf("too soon: %q", got)
	}
	if got := c.Look(night.Add(15 * time.Minute)); got == "" {
		t.Error("nothing is said")
	}
	ClockSet() // must answer on any machine
}
