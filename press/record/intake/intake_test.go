package intake_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/export"
	"github.com/nightclamp/nightclamp/press/record/intake"
	"github.com/nightclamp/nightclamp/sensor"
)

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func store(t *testing.T) *record.Store {
	t.Helper()
	s, err := record.Open(t.Context(), filepath.Join(t.TempDir(), "r.db"), record.Options{Flush: time.Hour})
	must(t, err)
	t.Cleanup(func() { must(t, s.Close()) })
	return s
}

// maker makes runs of every kind, also unlikely ones.
type maker struct{ *rand.Rand }

func (m maker) text() string {
	parts := []string{"sled deck", "ü\"|<b>", "\n", "", "a,b", "\\", "🛷", " "}
	return parts[m.IntN(len(parts))] + parts[m.IntN(len(parts))]
}

func (m maker) moment() time.Time {
	return time.Date(2026, 10, 1+m.IntN(28), m.IntN(24), m.IntN(60), m.IntN(60), m.IntN(1e9), time.UTC)
}

func (m maker) number() press.Num {
	switch m.IntN(4) {
	case 0:
		return press.Unknown()
	case 1:
		return 0
	}
	return press.Num(m.NormFloat64() * math.Pow(10, float64(m.IntN(9)-3)))
}

func (m maker) run() record.Run {
	r := record.Run{
		ID: fmt.Sprintf("shed-%d", m.IntN(1e9)), Site: m.text(), Press: m.text(), Work: m.text(), Glue: m.text(),
		FloorPa: float64(m.number()), Strained: m.IntN(2) == 0, Plies: m.IntN(9), AreaM2: float64(m.number()),
		Notes: m.text(), Started: m.moment(), Ended: m.moment(), Stage: press.Release, Verdict: press.Pressed, Thinned: m.IntN(4) == 0,
	}
	if m.IntN(2) == 0 {
		r.Sheet = []byte("name = \"x\"\n" + m.text())
		r.Layup = []byte("# " + m.text())
		r.Final, _ = json.Marshal(press.Status{Schema: 1, Sentence: m.text(), FloorPa: m.number()})
	}
	return r
}

// event fills the fields of its kind by the names in which they are written.
func (m maker) event(run record.Run) press.Event {
	kinds := []press.Kind{press.LayupStarted, press.HoldStarted, press.LeakFound, press.MarginGone, press.TooCold,
		press.Released, press.Gap, press.ClockStepped, press.Noted, press.SensorSilent, press.ToppedUp, press.PressTimeReached}
	e := press.Event{Time: m.moment(), Site: run.Site, Press: run.Press, Run: run.ID, Kind: kinds[m.IntN(len(kinds))]}
	v := reflect.ValueOf(&e).Elem()
	for i := 5; i < v.NumField(); i++ {
		switch f := v.Field(i).Addr().Interface().(type) {
		case *press.Num:
			*f = m.number()
		case *time.Time:
			if m.IntN(4) > 0 {
				*f = m.moment()
			}
		case *string:
			*f = m.text()
		case *press.Verdict:
			*f = press.OpenedEarly
		}
	}
	return e
}

func (m maker) curve() record.Curve {
	return record.Curve{DepthM: m.number(), RadiusM: m.number(), SpanM: m.number(), MouldDepthM: m.number(), MouldRadiusM: m.number()}
}

func (m maker) outcome(after record.After) record.Outcome {
	o := record.Outcome{After: after, Entered: m.moment(), Along: m.curve(), Across: m.curve(), WeightKg: m.number(), Notes: m.text()}
	if m.IntN(2) == 0 {
		yes := m.IntN(2) == 0
		o.Delaminated = &yes
	}
	for range m.IntN(3) {
		o.Photos = append(o.Photos, record.Photo{Name: m.text(), SHA256: m.text(), Bytes: int64(m.IntN(1e9)), Width: m.IntN(1e4), Height: 1, Thumb: []byte(m.text())})
	}
	return o
}

func (m maker) alert(run record.Run, n int) press.Alert {
	return press.Alert{Schema: 1, ID: fmt.Sprintf("%s/%d", run.ID, n), Name: m.text(), Press: run.Press, Run: run.ID,
		Severity: press.Wake, State: press.AlertCleared, Text: m.text(), Reason: m.text(), RaisedAt: m.moment(), At: m.moment()}
}

func (m maker) samples() []sensor.Sample {
	at, mono, boot := m.moment(), time.Duration(m.IntN(1e9))*time.Microsecond, ""
	var list []sensor.Sample
	for range m.IntN(600) {
		since := time.Duration(m.IntN(3000)) * time.Millisecond
		at, mono = at.Add(since), mono+since
		if m.IntN(200) == 0 {
			boot, mono = fmt.Sprintf("boot-%d", m.IntN(5)), time.Duration(m.IntN(1e9))
			at = at.Add(time.Duration(m.IntN(7200)-1800) * time.Second) // the clock may go back
		}
		list = append(list, sensor.Sample{Time: at, Mono: mono, Boot: boot, Bag: 16000 + 100*m.NormFloat64(),
			Ambient: float64(m.number()), GlueLine: 12 + m.NormFloat64(), Air: -5 + 20*m.NormFloat64(),
			Humidity: float64(m.IntN(101)), Quality: sensor.Quality(m.IntN(512))}) //nolint:gosec // fits
	}
	return list
}

// What one board exports and another takes in is the same there in all that was
// kept, and is exported by it as the same bytes.
func TestRoundTripLosesNothing(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	m := maker{rand.New(rand.NewPCG(seed, 0))} //nolint:gosec // not a secret
	here, there := store(t), store(t)
	for range 4 {
		run := m.run()
		batch := record.Batch{Run: &run}
		for n := range m.IntN(20) {
			batch.Events = append(batch.Events, m.event(run))
			batch.Alerts = append(batch.Alerts, m.alert(run, n))
		}
		must(t, here.PutRun(t.Context(), run))
		for _, sample := range m.samples() {
			must(t, here.AddSample(t.Context(), run.ID, sample))
		}
		must(t, here.Commit(t.Context(), batch))
		for _, after := range record.Afters() {
			if m.IntN(2) == 0 {
				must(t, here.PutOutcome(t.Context(), run.ID, m.outcome(after), false))
			}
		}

		folder, err := export.Export(t.Context(), here, run.ID, t.TempDir(), export.Options{})
		must(t, err)
		id, err := intake.Folder(t.Context(), there, folder, t.TempDir())
		must(t, err)
		if where := difference(everything(t, there, id), everything(t, here, run.ID)); where != "" {
			t.Fatalf("seed %d: taken in and kept: %s", seed, where)
		}
		again, err := export.Export(t.Context(), there, run.ID, t.TempDir(), export.Options{})
		must(t, err)
		for _, name := range []string{"record.json", "samples.csv", "record.md", "record.html", "record.pdf", "chart.svg"} {
			if where := difference(text(t, again, name), text(t, folder, name)); where != "" {
				t.Fatalf("seed %d: %s: %s", seed, name, where)
			}
		}
		if _, err := intake.Folder(t.Context(), there, folder, t.TempDir()); !errors.Is(err, record.ErrExists) {
			t.Errorf("taken in twice: %v", err)
		}
	}
}

// difference shows the first line in which two texts differ.
func difference(got, want string) string {
	a, b := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return fmt.Sprintf("line %d:\n got %s\nwant %s", i+1, a[i], b[i])
		}
	}
	if len(a) != len(b) {
		return fmt.Sprintf("%d lines, want %d", len(a), len(b))
	}
	return ""
}

// everything writes out what a record holds of a run.
func everything(t *testing.T, s *record.Store, id string) string {
	t.Helper()
	run, err := s.Run(t.Context(), id)
	must(t, err)
	events, err := s.Events(t.Context(), id)
	must(t, err)
	alerts, err := s.Alerts(t.Context(), record.AlertFilter{Run: id})
	must(t, err)
	outcomes, err := s.Outcomes(t.Context(), id)
	must(t, err)
	var b strings.Builder
	fmt.Fprintf(&b, "%+v\n%+v\n", run, alerts)
	for _, o := range outcomes {
		written, err := json.Marshal(o)
		must(t, err)
		fmt.Fprintf(&b, "%s\n", written)
	}
	for _, e := range events {
		fmt.Fprintf(&b, "%s\n", e.AppendJSON(nil, press.RFC3339))
	}
	for row, err := range s.Thinned(t.Context(), id, time.Time{}, time.Time{}, 0) {
		must(t, err)
		fmt.Fprintf(&b, "%+v\n", row)
	}
	return b.String()
}

func text(t *testing.T, folder, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(folder, name))
	must(t, err)
	return string(b)
}

// exported is a small folder to spoil.
func exported(t *testing.T) string {
	t.Helper()
	m := maker{rand.New(rand.NewPCG(7, 7))} //nolint:gosec // the same every time
	s := store(t)
	run := m.run()
	must(t, s.PutRun(t.Context(), run))
	for _, sample := range m.samples() {
		must(t, s.AddSample(t.Context(), run.ID, sample))
	}
	must(t, s.Flush(t.Context()))
	folder, err := export.Export(t.Context(), s, run.ID, t.TempDir(), export.Options{})
	must(t, err)
	return folder
}

func TestSpoiledFoldersNameThePlace(t *testing.T) {
	for name, c := range map[string]struct {
		file, old, new string
		want           string
	}{
		"cut off":       {"samples.csv", "TAIL", "", "cut off"},
		"no number":     {"samples.csv", ",17", ",x17", "column"},
		"other columns": {"samples.csv", "bag_min_pa", "bag_min_kpa", "line 1"},
		"newer":         {"record.json", `"schema": 1`, `"schema": 2`, "update nightclamp"},
		"no record":     {"record.json", `"schema": 1`, `"scheme": 1`, "no record.json of nightclamp"},
		"not JSON":      {"record.json", "{", "[", "no JSON"},
		"two objects":   {"record.json", "TAIL", "{}", "more after the end"},
	} {
		folder := exported(t)
		path := filepath.Join(folder, c.file)
		body := text(t, folder, c.file)
		if c.old == "TAIL" {
			body = body[:strings.LastIndex(strings.TrimSpace(body), "\n")+1] + map[bool]string{true: body[strings.LastIndex(strings.TrimSpace(body), "\n")+1:] + c.new}[c.new != ""]
		} else {
			body = strings.Replace(body, c.old, c.new, 1)
		}
		must(t, os.WriteFile(path, []byte(body), 0o600))
		s := store(t)
		_, err := intake.Folder(t.Context(), s, folder, t.TempDir())
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v", name, err)
		}
		if runs, err := s.Runs(t.Context(), record.Filter{}); err != nil || len(runs) != 0 {
			t.Errorf("%s: something was taken in: %v, %v", name, runs, err)
		}
	}
	if _, err := intake.Folder(t.Context(), store(t), t.TempDir(), t.TempDir()); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("empty folder: %v", err)
	}
}

// What was exported before humidity was kept has no columns for it.
func TestFolderFromBeforeHumidity(t *testing.T) {
	folder := exported(t)
	lines := strings.Split(strings.TrimSuffix(text(t, folder, "samples.csv"), "\n"), "\n")
	for i, line := range lines {
		cells := strings.Split(line, ",")
		lines[i] = strings.Join(cells[:len(cells)-3], ",")
	}
	must(t, os.WriteFile(filepath.Join(folder, "samples.csv"), []byte(strings.Join(lines, "\n")+"\n"), 0o600))
	s := store(t)
	id, err := intake.Folder(t.Context(), s, folder, t.TempDir())
	must(t, err)
	rows := 0
	for row, err := range s.Thinned(t.Context(), id, time.Time{}, time.Time{}, 0) {
		must(t, err)
		if rows++; !math.IsNaN(row.Humidity.Mean) || math.IsNaN(row.Bag.Mean) {
			t.Fatalf("row %+v", row)
		}
	}
	if rows != len(lines)-1 {
		t.Errorf("%d rows of %d", rows, len(lines)-1)
	}
}

// A run that was open when it was exported is closed here: nobody would else.
func TestOpenRunIsClosed(t *testing.T) {
	s := store(t)
	run := maker{rand.New(rand.NewPCG(7, 7))}.run() //nolint:gosec // the same every time
	run.Ended, run.Stage = time.Time{}, press.Hold
	last := run.Started.Add(3 * time.Hour)
	must(t, s.Commit(t.Context(), record.Batch{Run: &run, Events: []press.Event{{Time: last, Run: run.ID, Kind: press.Settled}}}))
	folder, err := export.Export(t.Context(), s, run.ID, t.TempDir(), export.Options{})
	must(t, err)
	there := store(t)
	id, err := intake.Folder(t.Context(), there, folder, t.TempDir())
	must(t, err)
	if got, err := there.Run(t.Context(), id); err != nil || !got.Ended.Equal(last) || got.Stage != press.Release {
		t.Errorf("%+v, %v", got, err)
	}
}

// A plain log: pull-down, an hour of hold, opened.
func TestLogIsPlayedToTheEngine(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,bag_pa,ambient_pa\n")
	for s := range 5400 {
		bag := 101000.0
		if s > 60 && s < 4000 {
			bag = math.Max(16000, 101000-1500*float64(s-60))
		}
		fmt.Fprintf(&b, "%d,%.0f,101000\n", s, bag)
	}
	st := store(t)
	begin := time.Date(2026, 10, 17, 18, 0, 0, 0, time.UTC)
	options := intake.LogOptions{Press: press.Config{Site: "loft", Press: "big", Work: "sled deck 1"}, Begin: begin}
	ids, err := intake.Log(t.Context(), st, strings.NewReader(b.String()), "log.csv", options)
	must(t, err)
	if len(ids) != 1 {
		t.Fatalf("runs %q", ids)
	}
	run, err := st.Run(t.Context(), ids[0])
	must(t, err)
	if run.Work != "sled deck 1" || run.Started.Sub(begin) < time.Minute || run.Ended.Sub(begin) < 4000*time.Second || run.Final == nil {
		t.Errorf("%+v", run)
	}
	events, err := st.Events(t.Context(), ids[0])
	must(t, err)
	if len(events) < 3 || events[0].Kind != press.PulldownStarted || events[len(events)-1].Kind != press.Released {
		t.Errorf("%+v", events)
	}
	for bad, want := range map[string]string{"time,bag_pa\n0,1000\n1,x\n": "log.csv:3", "time,bag_pa\n0,101000\n9,101000\n": "no run is in it"} {
		if _, err := intake.Log(t.Context(), st, strings.NewReader(bad), "log.csv", options); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", bad, err)
		}
	}
	options.Begin = time.Time{}
	if _, err := intake.Log(t.Context(), st, strings.NewReader(b.String()), "log.csv", options); err == nil || !strings.Contains(err.Error(), "counts seconds") {
		t.Errorf("without a begin: %v", err)
	}
}
