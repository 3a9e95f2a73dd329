package alert

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

var update = flag.Bool("update", false, "write testdata/texts.txt anew")

// at0312 is a press at twelve past three in the night, in the shop's own time.
func at0312() (press.Status, press.Event, units.Display) {
	oslo := time.FixedZone("CEST", 2*3600)
	now := time.Date(2026, 10, 17, 1, 12, 0, 0, time.UTC)
	st := press.Status{
		Time: now, Site: "boatshed", Press: "sled", Run: "sled-1", Glue: "pva-d3", Stage: press.Hold, Verdict: press.WillNotHold,
		VacuumPa: 76e3, FloorPa: 65e3, GluelineC: 9.4, AirC: 6, MinUseC: 10, Leaking: true, LeakOnset: now.Add(-2 * time.Hour),
		LeakRate: press.Band{Low: 1900, Expected: 2100, High: 2300}, ClampedProgress: press.Band{Low: 0.3, Expected: 0.41, High: 0.5},
		PressTimeAt: press.Span{Early: now.Add(7 * time.Hour), Expected: now.Add(8*time.Hour + 38*time.Minute), Late: now.Add(11 * time.Hour)},
		FloorAt:     press.Span{Early: now.Add(4 * time.Hour), Expected: now.Add(5*time.Hour + 12*time.Minute), Late: now.Add(7 * time.Hour)},
		MarginS:     press.Band{Low: -5 * 3600, Expected: -3.4 * 3600, High: -1800}, HoldChance: 0.02,
	}
	ev := press.Event{
		Run: "sled-1", Time: now, VacuumPa: 76e3, FloorAt: st.FloorAt.Expected, PressTimeAt: st.PressTimeAt.Expected, RatePaPerH: 2100, RateLow: 1900, RateHigh: 2300,
		Onset: st.LeakOnset, GluelineC: 9.9, LimitC: 10, Limit: now.Add(6 * time.Minute), From: now.Add(-75 * time.Minute), To: now.Add(-time.Minute),
		ByS: -3600, Early: now.Add(-time.Hour), Late: now.Add(2 * time.Hour),
	}
	return st, ev, units.Display{Location: oslo}
}

// situation is one alert at twelve past three; change makes it what it is.
type situation struct {
	row, what string
	change    func(st *press.Status, ev *press.Event)
	about     []string // quantities
}

func situations() []situation {
	same := func(*press.Status, *press.Event) {}
	done := func(st *press.Status, ev *press.Event) { st.Verdict, ev.VacuumPa, st.VacuumPa = press.Done, 3e3, 3e3 }
	noGlue := func(st *press.Status, ev *press.Event) {
		st.Glue, st.Verdict, ev.VacuumPa, st.VacuumPa = "", press.Unsure, 3e3, 3e3
	}
	heat := func(after time.Duration, what string) func(*press.Status, *press.Event) {
		return func(st *press.Status, _ *press.Event) {
			if st.HeatFor = what; what != "" {
				st.HeatBy = st.Time.Add(after)
			}
		}
	}
	reason := func(r string) func(*press.Status, *press.Event) {
		return func(_ *press.Status, ev *press.Event) { ev.Reason = r }
	}
	return []situation{
		{VacuumLost, "while it cures", func(st *press.Status, ev *press.Event) { ev.VacuumPa = 3e3 }, nil},
		{VacuumLost, "after the press time", done, nil},
		{VacuumLost, "no adhesive", noGlue, nil},
		{BelowFloor, "while it cures", func(st *press.Status, _ *press.Event) { st.VacuumPa = 62e3 }, nil},
		{BelowFloor, "after the press time", done, nil},
		{BelowFloor, "no adhesive", noGlue, nil},
		{FloorNear, "", same, nil},
		{MarginGone, "a leak", same, nil},
		{MarginGone, "too near to rely on", func(st *press.Status, _ *press.Event) { st.PressTimeAt.Expected = st.FloorAt.Expected.Add(-time.Hour) }, nil},
		{MarginGone, "too cold to get done", func(st *press.Status, ev *press.Event) { st.PressTimeAt, ev.PressTimeAt = press.Span{}, time.Time{} }, nil},
		{LineBlocked, "quiet", reason(press.LineQuiet), nil},
		{LineBlocked, "no response", reason(press.LineNoResponse), nil},
		{LineBlocked, "quick", reason(press.LineQuick), nil},
		{LeakFound, "slow enough", func(st *press.Status, ev *press.Event) {
			st.Verdict, ev.FloorAt = press.WillHold, st.Time.Add(30*time.Hour)
		}, nil},
		{LeakFound, "not known yet", func(st *press.Status, _ *press.Event) { st.Verdict = press.Unsure }, nil},
		{AssemblyOver, "", func(st *press.Status, ev *press.Event) { ev.Limit = st.Time }, nil},
		{AssemblyShort, "", same, nil},
		{FilmLost, "", same, nil},
		{TooCold, "the film at stake", func(st *press.Status, ev *press.Event) {
			heat(11*time.Minute, press.HeatForFilm)(st, ev)
			st.FilmLostAt = st.Time.Add(15 * time.Minute)
		}, nil},
		{TooCold, "warm again in time", heat(11*time.Minute, press.HeatForFilm), nil},
		{TooCold, "the film, at once", func(st *press.Status, ev *press.Event) {
			heat(0, press.HeatForFilm)(st, ev)
			st.FilmLostAt = st.Time.Add(3 * time.Minute)
		}, nil},
		{TooCold, "the clamp at stake", heat(3*time.Hour, press.HeatForClamp), nil},
		{TooCold, "the clamp, too late", heat(0, press.HeatForClamp), nil},
		{TooCold, "it can wait", heat(0, ""), nil},
		{ColdAhead, "", func(st *press.Status, _ *press.Event) { st.GluelineC, st.ColdAt = 11.8, st.Time.Add(2*time.Hour) }, nil},
		{PressTimeReached, "bounds open", same, nil},
		{PressTimeReached, "surely", func(st *press.Status, ev *press.Event) { ev.Late = st.Time }, nil},
		{SensorSilent, "bag", same, []string{"bag"}},
		{SensorSilent, "glue line", same, []string{"glueline"}},
		{SensorSilent, "air", same, []string{"air"}},
		{SensorStuck, "bag", same, []string{"bag"}},
		{SensorJumped, "bag and barometer", same, []string{"bag", "ambient"}},
		{SensorDisagrees, "", same, []string{"glueline"}},
		{PumpLocked, "", func(_ *press.Status, ev *press.Event) { ev.Text = "it ran for ten minutes without effect" }, nil},
		{Gap, "the bag held", same, nil},
		{Gap, "the bag did not", func(st *press.Status, _ *press.Event) { st.VacuumPa = 62e3 }, nil},
		{Gap, "between runs", func(st *press.Status, ev *press.Event) { st.Stage, st.Run, ev.Run = press.Idle, "", "" }, nil},
		{Gap, "during the lay-up", func(st *press.Status, _ *press.Event) { st.Stage = press.Layup }, nil},
		{BagWorsening, "", func(st *press.Status, ev *press.Event) {
			st.Stage, ev.RatePaPerH, ev.Factor, ev.Runs = press.Release, 460, 2.3, 7
		}, nil},
		{ClockStepped, "", same, nil},
	}
}

// TestTextsAsTheyAreRead writes each alert as somebody reads it who was asleep
// until now. testdata/texts.txt is for reviewers: read what changed there as that
// person would.
func TestTextsAsTheyAreRead(t *testing.T) {
	var b strings.Builder
	seen := map[string]bool{}
	for _, s := range situations() {
		st, ev, show := at0312()
		s.change(&st, &ev)
		i := rowOf(t, s.row)
		r := table()[i]
		p := picture{ev: ev, st: st, quantities: s.about, show: show}
		text := short(r.text(p))
		fmt.Fprintf(&b, "%s (%s), %s\n    %s\n\n", s.row, s.what, r.severity(p), text)
		if n := utf8.RuneCountInString(r.text(p)); n > maxText {
			t.Errorf("%s (%s) has %d characters", s.row, s.what, n)
		}
		if r.severity(p) == press.Wake && !regexp.MustCompile(`\b(now|at once|by \d\d:\d\d|before \d\d:\d\d)\b`).MatchString(text) {
			t.Errorf("%s (%s) wakes and does not say by when to act: %s", s.row, s.what, text)
		}
		seen[s.row] = true
	}
	for _, r := range table() {
		if !seen[r.name] {
			t.Errorf("%s is shown in no situation", r.name)
		}
	}
	boardTexts(t, &b)
	const file = "testdata/texts.txt"
	if *update {
		if err := os.WriteFile(file, []byte(b.String()), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got := b.String(); got != string(want) {
		t.Errorf("the texts are not those of %s; read them and run go test ./alert -run TextsAsTheyAreRead -update\n%s", file, got)
	}
}

func rowOf(t *testing.T, name string) int {
	t.Helper()
	for i, r := range table() {
		if r.name == name {
			return i
		}
	}
	t.Fatalf("no alert %q", name)
	return 0
}

// boardTexts writes what the board says of itself.
func boardTexts(t *testing.T, b *strings.Builder) {
	t.Helper()
	st, _, show := at0312()
	sys := t.TempDir()
	put := func(name, text string) {
		if err := os.MkdirAll(filepath.Dir(filepath.Join(sys, name)), 0o750); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(sys, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	put("class/hwmon/hwmon1/name", "rpi_volt\n")
	put("class/hwmon/hwmon1/in0_lcrit_alarm", "1\n")
	put("class/thermal/thermal_zone0/temp", "83100\n")
	health := []press.WayHealth{{Name: "log"}, {
		Name: "phone", Failing: st.Time.Add(-40 * time.Minute), Waiting: 3, Error: "ntfy: 401 Unauthorized",
	}}
	const place = "/var/lib/nightclamp"
	for _, c := range []struct {
		what  string
		check Check
	}{
		{"nearly full", DiskCheck(place, func(string) (uint64, uint64, error) { return 120 << 20, 32 << 30, nil })},
		{"cannot be looked at", DiskCheck(place, func(string) (uint64, uint64, error) { return 0, 0, errors.New("input/output error") })},
		{"", RecordCheck(func() error { return errors.New("disk I/O error: the card may be worn out, copy it to another") })},
		{"", DeliveryCheck(func() []press.WayHealth { return health }, show)},
		{"", PowerCheck(sys)},
		{"", HeatCheck(sys, show)},
		{"", ClockCheck(func() bool { return false }, st.Time.Add(-time.Hour))},
	} {
		text := c.check.Look(st.Time)
		fmt.Fprintf(b, "%s (%s), of the board\n    %s\n\n", c.check.Name, c.what, text)
		if n := utf8.RuneCountInString(text); n == 0 || n > maxText || strings.HasSuffix(text, "…") {
			t.Errorf("%s (%s) has %d characters: %s", c.check.Name, c.what, n, text)
		}
	}
}
