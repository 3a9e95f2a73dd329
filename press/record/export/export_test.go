package export_test

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"encoding/xml"
	"errors"
	"flag"
	"image/color"
	"image/png"
	"io"
	"iter"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the zone of the tests must be there everywhere

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/export"
	"github.com/nightclamp/nightclamp/press/units"
)

var update = flag.Bool("update", false, "write the golden files anew")

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func helsinki(t *testing.T) units.Display {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Helsinki")
	must(t, err)
	return units.Display{Location: zone}
}

// shed is a source with one run in it.
type shed struct {
	run      record.Run
	events   []press.Event
	alerts   []press.Alert
	outcomes []record.Outcome
	rows     []record.Thin
}

func (s *shed) Run(context.Context, string) (record.Run, error)            { return s.run, nil }
func (s *shed) Outcomes(context.Context, string) ([]record.Outcome, error) { return s.outcomes, nil }
func (s *shed) Events(context.Context, string) ([]press.Event, error)      { return s.events, nil }
func (s *shed) Alerts(context.Context, record.AlertFilter) ([]press.Alert, error) {
	return s.alerts, nil
}

func (s *shed) Thinned(_ context.Context, _ string, _, _ time.Time, most int) iter.Seq2[record.Thin, error] {
	return func(yield func(record.Thin, error) bool) {
		every := 1
		if most > 0 {
			every = len(s.rows)/most + 1
		}
		for i := 0; i < len(s.rows); i += every {
			if !yield(s.rows[i], nil) {
				return
			}
		}
	}
}

// night is an invented run: the deck of the demo, with a leak, a power cut, a
// top-up, and words that want to be markup.
func night() *shed {
	evening := time.Date(2026, 10, 24, 17, 0, 0, 0, time.UTC) // the night in which summer time ends
	at := func(hours float64) time.Time { return evening.Add(time.Duration(hours * float64(time.Hour))) }
	event := func(hours float64, kind press.Kind) press.Event {
		return press.Event{Time: at(hours), Site: "boatshed", Press: "shed", Run: "shed-20261024", Kind: kind}
	}
	s := &shed{run: record.Run{
		ID: "shed-20261024", Site: "boatshed", Press: "shed", Work: "sled deck | 4 <b>", Glue: "shed-glue",
		Sheet: []byte("name = \"shed-glue\"\nfamily = \"pva\"\ntitle = \"Glue of the test\"\nsource = \"invented\"\nmin_use_c = 8.0\n" +
			"max_use_c = 35.0\npress_time = [ { at_c = 10, hours = 5 }, { at_c = 20, hours = 2 } ]\nstrained_factor = 2.0\ncautions = [\"Wet it chalks in the cold.\"]\n"),
		Layup:   []byte("work = \"sled deck\"\narea_m2 = 0.8\nplies = [ { mm = 1.5, wood = \"birch\", count = 4 } ]\nbends = [ { direction = \"along\", radius_mm = 900, span_mm = 400 } ]\n"),
		FloorPa: 65000, Strained: true, Plies: 4, AreaM2: 0.8, Notes: "new *gasket*",
		Started: at(0), Ended: at(14.5), Stage: press.Release, Verdict: press.Pressed,
		Final: []byte(`{"schema":1,"sentence":"Released. The whole press time was earned under clamp.","progress":{"low":0.9,"expected":1,"high":1},"clamped_progress":{"low":0.9,"expected":1,"high":1}}`),
	}}
	layup := event(0, press.LayupStarted)
	layup.ClosedLimit = at(0.25)
	hold := event(0.2, press.HoldStarted)
	hold.VacuumPa = 84000
	leak := event(5, press.LeakFound)
	leak.Onset, leak.RatePaPerH, leak.RateLow, leak.RateHigh, leak.FloorAt = at(4.8), 2100, 1800, 2500, at(12)
	gap := event(7, press.Gap)
	gap.From, gap.To = at(6), at(7)
	topUp := event(7.5, press.ToppedUp)
	topUp.FromPa, topUp.ToPa = 78500, 84000
	note := event(8, press.Noted)
	note.Text = "pressed the seam | by the *valve*, much longer than a label can be"
	done := event(12, press.PressTimeReached)
	done.Early, done.Late = at(10), at(14)
	released := event(14.5, press.Released)
	released.Verdict = press.Pressed
	s.events = []press.Event{layup, event(0.1, press.PulldownStarted), hold, leak, gap, topUp, note, done, released}
	s.alerts = []press.Alert{{ID: "shed/leak", Name: "leak", Press: "shed", Run: s.run.ID, Severity: press.Warn, State: press.AlertCleared,
		Text: "Leaking 2.1 kPa/h.", RaisedAt: at(5), At: at(7.5)}}
	s.outcomes = cameOut(at)
	for i := 0; i < 2*60*14+60; i++ {
		hours := float64(i) / 120
		if hours >= 6 && hours < 7 {
			continue
		}
		s.rows = append(s.rows, bucket(at(hours), hours))
	}
	return s
}

// cameOut is what the builder measured: a mould 22.5 mm deep, a little less of the
// blank.
func cameOut(at func(float64) time.Time) []record.Outcome {
	no := false
	first, later := record.NewOutcome(record.AtRelease), record.NewOutcome(record.AfterDay)
	first.Entered, first.Along.DepthM, first.Along.MouldDepthM, first.Delaminated = at(15), 0.0222, 0.0235, &no
	first.Photos = []record.Photo{{Name: "deck.jpg", SHA256: strings.Repeat("0", 64), Bytes: 9, Width: 4, Height: 3, Thumb: []byte("thumb")}}
	later.Entered, later.Along.DepthM, later.WeightKg, later.Notes = at(39), 0.0215, 1.854, "one edge | *lifted*"
	return []record.Outcome{first, later}
}

// bucket is half a minute of the invented night.
func bucket(at time.Time, hours float64) record.Thin {
	vacuum := 84000.0
	switch {
	case hours < 0.1:
		vacuum = 0
	case hours < 0.2:
		vacuum = 840000 * (hours - 0.1)
	case hours >= 5 && hours < 7.5:
		vacuum = 84000 - 2200*(hours-5)
	}
	ripple := 100 * math.Sin(40*hours)
	extent := func(mean, spread float64) record.Extent {
		return record.Extent{Min: mean - spread, Mean: mean, Max: mean + spread}
	}
	boot, mono := "first", hours
	if hours >= 7 {
		boot, mono = "second", hours-7
	}
	ambient := 101000 + 20*hours
	return record.Thin{
		First: at, Mean: at.Add(15 * time.Second), Last: at.Add(29900 * time.Millisecond), Count: 300, Boot: boot,
		Mono: time.Duration(mono * float64(time.Hour)).Truncate(time.Millisecond),
		Bag:  extent(ambient-vacuum-ripple, 40), Ambient: extent(ambient, 5), Vacuum: extent(vacuum+ripple, 45),
		GlueLine: extent(14-3*math.Sin(hours/5), 0.1), Air: extent(12-5*math.Sin(hours/5), 0.3),
	}
}

func TestGoldenRecord(t *testing.T) {
	folder, err := export.Export(t.Context(), night(), "last", t.TempDir(), export.Options{Display: helsinki(t)})
	must(t, err)
	for _, name := range []string{"record.md", "record.html", "record.json", "chart.svg"} {
		got, err := os.ReadFile(filepath.Join(folder, name))
		must(t, err)
		got = withoutProgress(got)
		golden := filepath.Join("testdata", name)
		if *update {
			must(t, os.WriteFile(golden, got, 0o600))
		}
		want, err := os.ReadFile(golden)
		must(t, err)
		if !bytes.Equal(got, want) {
			t.Errorf("%s differs from %s; look at it, then run with -update", name, golden)
		}
	}
	table, err := os.ReadFile(filepath.Join(folder, "samples.csv"))
	must(t, err)
	lines := strings.Split(string(table), "\n")
	if len(lines) != len(night().rows)+2 || strings.Count(lines[0], ",") != strings.Count(lines[1], ",") {
		t.Errorf("%d lines, %q, %q", len(lines), lines[0], lines[1])
	}
	if want := "2026-10-24T17:00:15.000Z,2026-10-24T17:00:00.000Z,2026-10-24T17:00:29.900Z,300,0,1,0.000,100960.0,101000.0,101040.0,"; !strings.HasPrefix(lines[1], want) {
		t.Errorf("first row %q\nwant %q", lines[1], want)
	}
}

// withoutProgress takes out the one thing that is worked out anew with each
// export: what the engine makes of the samples is its own tests' affair.
func withoutProgress(text []byte) []byte {
	return regexp.MustCompile(`(?m)^<path class="progress.*\n`).ReplaceAll(text, nil)
}

func TestProgressIsDrawn(t *testing.T) {
	folder, err := export.Export(t.Context(), night(), "last", t.TempDir(), export.Options{})
	must(t, err)
	picture := read(t, folder)["chart.svg"]
	for _, class := range []string{"progress", "progress-band"} {
		if !strings.Contains(picture, `<path class="`+class+`"`) {
			t.Errorf("nothing of class %s is drawn", class)
		}
	}
}

func TestPictureShowsTheLines(t *testing.T) {
	folder, err := export.Export(t.Context(), night(), "last", t.TempDir(), export.Options{})
	must(t, err)
	body, err := os.ReadFile(filepath.Join(folder, "chart.png"))
	must(t, err)
	picture, err := png.Decode(bytes.NewReader(body))
	must(t, err)
	if size := picture.Bounds().Size(); size.X != 1600 || size.Y < 800 {
		t.Errorf("the picture is %v", size)
	}
	// Colours of the light chart; a line is some 1300 pixels long.
	for name, want := range map[string]color.NRGBA{
		"vacuum": {0x0a, 0x6b, 0x70, 255}, "floor": {0xb4, 0x43, 0x1c, 255}, "glue line": {0x9a, 0x62, 0x00, 255}, "air": {0x56, 0x75, 0x9c, 255},
	} {
		columns := 0
		for x := range picture.Bounds().Dx() {
			for y := range picture.Bounds().Dy() {
				if color.NRGBAModel.Convert(picture.At(x, y)) == want {
					columns++
					break
				}
			}
		}
		if columns < 500 {
			t.Errorf("%s is seen in %d columns of the picture only", name, columns)
		}
	}
}

func TestSecondExportIsTheSameAndHandEditsAreKept(t *testing.T) {
	dir, told := t.TempDir(), ""
	do := func(d units.Display) (string, error) {
		return export.Export(t.Context(), night(), "last", dir, export.Options{Display: d, Kept: func(file, beside string) { told = file + " " + beside }})
	}
	folder, err := do(units.Display{})
	must(t, err)
	before := read(t, folder)
	must(t, os.WriteFile(filepath.Join(folder, "photo.jpg"), []byte("x"), 0o600))
	_, err = do(units.Display{})
	must(t, err)
	for name, body := range read(t, folder) {
		if name != "photo.jpg" && body != before[name] {
			t.Errorf("%s is not the same again", name)
		}
	}

	// Another choice of units: nobody touched the files, so they are replaced.
	_, err = do(helsinki(t))
	must(t, err)
	if after := read(t, folder); after["record.md"] == before["record.md"] || after["photo.jpg"] != "x" {
		t.Error("record.md was not brought up to date, or the photo was touched")
	}

	// One that was changed by hand stays; the new text lies beside it, once.
	page, beside := filepath.Join(folder, "record.md"), filepath.Join(folder, "record.new.md")
	must(t, os.WriteFile(page, []byte("my own words"), 0o600))
	_, err = do(helsinki(t))
	must(t, err)
	if _, err := os.Stat(beside); !errors.Is(err, os.ErrNotExist) || told != page+" " {
		t.Errorf("nothing is new, and yet: %v, %q", err, told)
	}
	_, err = do(units.Display{})
	must(t, err)
	after := read(t, folder)
	if after["record.md"] != "my own words" || after["record.new.md"] != before["record.md"] || after["record.html"] != before["record.html"] {
		t.Errorf("after an edit: %q", after["record.md"])
	}
	if told != page+" "+beside {
		t.Errorf("told of %q", told)
	}
	must(t, os.Remove(beside)) // the builder has seen it
	_, err = do(units.Display{})
	must(t, err)
	if _, err := os.Stat(beside); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("it came back: %v", err)
	}
	must(t, os.WriteFile(beside, []byte("mine too"), 0o600))
	if _, err = do(helsinki(t)); err == nil || !strings.Contains(err.Error(), "record.new.md was changed by hand") {
		t.Errorf("over the second file changed by hand: %v", err)
	}
	if entries, err := os.ReadDir(dir); err != nil || len(entries) != 1 {
		t.Errorf("left behind: %v, %v", entries, err)
	}
}

func read(t *testing.T, folder string) map[string]string {
	t.Helper()
	entries, err := os.ReadDir(folder)
	must(t, err)
	files := map[string]string{}
	for _, e := range entries {
		body, err := os.ReadFile(filepath.Join(folder, e.Name()))
		must(t, err)
		files[e.Name()] = string(body)
	}
	return files
}

func TestArchiveHoldsTheFolder(t *testing.T) {
	d := helsinki(t)
	folder, err := export.Export(t.Context(), night(), "last", t.TempDir(), export.Options{Display: d})
	must(t, err)
	want := read(t, folder)
	var first, second bytes.Buffer
	for _, w := range []*bytes.Buffer{&first, &second} {
		name, err := export.Zip(t.Context(), night(), "last", w, export.Options{Display: d})
		must(t, err)
		if name != filepath.Base(folder) {
			t.Errorf("folder %q in the archive, want %q", name, filepath.Base(folder))
		}
	}
	if !bytes.Equal(first.Bytes(), second.Bytes()) {
		t.Error("the second archive differs")
	}
	archive, err := zip.NewReader(bytes.NewReader(first.Bytes()), int64(first.Len()))
	must(t, err)
	for _, f := range archive.File {
		r, err := f.Open()
		must(t, err)
		body, err := io.ReadAll(r)
		must(t, errors.Join(err, r.Close()))
		if name := filepath.Base(f.Name); string(body) != want[name] {
			t.Errorf("%s is not what the folder has", f.Name)
		}
	}
	if len(archive.File) != len(want) {
		t.Errorf("%d files in the archive, %d in the folder", len(archive.File), len(want))
	}
}

// Whatever little is known of a run, the record must come out, and the chart
// must be XML.
func TestLittleKnown(t *testing.T) {
	empty := &shed{run: record.Run{ID: "../é/.", FloorPa: math.NaN(), AreaM2: math.Inf(1), Sheet: []byte("no = toml ="), Glue: "x", Final: []byte("{")}}
	onlyEvents := night()
	onlyEvents.rows = nil
	blind := night()
	for i := range blind.rows {
		nothing := record.Extent{Min: math.NaN(), Mean: math.NaN(), Max: math.NaN()}
		blind.rows[i].Bag, blind.rows[i].Vacuum, blind.rows[i].GlueLine, blind.rows[i].Air = nothing, nothing, nothing, nothing
	}
	crowd := night()
	for i := range 300 {
		e := crowd.events[6]
		e.Time = e.Time.Add(time.Duration(i) * time.Second)
		crowd.events = append(crowd.events, e)
	}
	for name, source := range map[string]*shed{"empty": empty, "only events": onlyEvents, "blind": blind, "crowd": crowd} {
		folder, err := export.Export(t.Context(), source, "last", t.TempDir(), export.Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		files := read(t, folder)
		if err := wellFormed(files["chart.svg"]); err != nil {
			t.Errorf("%s: chart.svg: %v", name, err)
		}
		for file, body := range files {
			if text := !strings.HasSuffix(file, ".png") && !strings.HasSuffix(file, ".pdf"); text && (strings.Contains(body, "NaN") || strings.Contains(body, "Inf")) {
				t.Errorf("%s: %s has a number that is none", name, file)
			}
		}
	}
}

func wellFormed(text string) error {
	d := xml.NewDecoder(strings.NewReader(text))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
	}
}

// The schema and what is written must name the same fields.
func TestSchemaNamesEveryField(t *testing.T) {
	folder, err := export.Export(t.Context(), night(), "last", t.TempDir(), export.Options{})
	must(t, err)
	var written, schema map[string]any
	body, err := os.ReadFile(filepath.Join(folder, "record.json"))
	must(t, err)
	must(t, json.Unmarshal(body, &written))
	must(t, json.Unmarshal(export.JSONSchema(), &schema))
	sameFields(t, "record.json", written, schema["properties"].(map[string]any))
	for _, part := range []string{"run", "summary", "samples"} {
		properties := schema["properties"].(map[string]any)[part].(map[string]any)["properties"].(map[string]any)
		sameFields(t, part, written[part].(map[string]any), properties)
	}
}

func sameFields(t *testing.T, what string, written, properties map[string]any) {
	t.Helper()
	for name := range written {
		if properties[name] == nil {
			t.Errorf("%s: the schema lacks %s", what, name)
		}
	}
	for name := range properties {
		if _, ok := written[name]; !ok {
			t.Errorf("%s: %s is in the schema and was not written", what, name)
		}
	}
}
