package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/cure/layup"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
)

// shelf is a record with released runs of the example lay-up, the newest two days
// ago, and the config that names it.
func shelf(t *testing.T, runs int, more string) (string, *record.Store) {
	t.Helper()
	folder := t.TempDir()
	config := filepath.Join(folder, "nightclamp.toml")
	text := fmt.Sprintf("site = \"shed\"\ndata = %q\n[display]\ntimezone = \"UTC\"\n%s", folder, more)
	if err := os.WriteFile(config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	store, err := record.Open(t.Context(), filepath.Join(folder, "nightclamp.db"), record.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := store.Close(); err != nil {
			t.Error(err)
		}
	})
	newest := time.Now().UTC().Add(-48 * time.Hour)
	for i := range runs {
		ended := newest.Add(-time.Duration(runs-1-i) * 7 * 24 * time.Hour)
		run := record.Run{
			ID: fmt.Sprintf("deck-%d", i+1), Site: "shed", Press: "deck", Work: fmt.Sprintf("sled deck %d", i+1), FloorPa: 65000,
			Layup: layup.Example(), Started: ended.Add(-14 * time.Hour), Ended: ended, Stage: press.Release, Verdict: press.Pressed,
		}
		if err := store.PutRun(t.Context(), run); err != nil {
			t.Fatal(err)
		}
	}
	return config, store
}

func call(t *testing.T, config, in string, args ...string) (int, string, string) {
	t.Helper()
	var out, errs bytes.Buffer
	code := execute(t.Context(), streams{strings.NewReader(in), &out, &errs}, append([]string{"-c", config}, args...))
	return code, out.String(), errs.String()
}

func TestOutcomeIsKeptPieceByPiece(t *testing.T) {
	config, store := shelf(t, 2, "")
	picture := filepath.Join(t.TempDir(), "edge.png")
	var body bytes.Buffer
	if err := png.Encode(&body, image.NewRGBA(image.Rect(0, 0, 8, 8))); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(picture, body.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"deck-1", "--after", "release", "--depth-along", "22mm", "--mould-depth-along", "23.5mm"},
		{"--depth-along", "21.5 mm", "--mould-depth-along", "2.35cm", "--weight", "1850g"},
		{"--delaminated", "no", "--photo", picture},
		{"--photo", picture, "--note", "one edge lifted"},
	} {
		if code, _, errs := call(t, config, "", append([]string{"record", "outcome"}, args...)...); code != exitOK {
			t.Fatalf("%v: %d, %s", args, code, errs)
		}
	}
	list, err := store.Outcomes(t.Context(), "deck-2")
	if err != nil || len(list) != 1 || list[0].After != record.AfterDay {
		t.Fatalf("%v, %+v", err, list)
	}
	o := list[0]
	if o.Along.DepthM != 0.0215 || o.WeightKg != 1.85 || *o.Delaminated || o.Notes != "one edge lifted" || len(o.Photos) != 1 {
		t.Errorf("%+v", o)
	}
	code, out, _ := call(t, config, "", "record", "outcome", "deck-2")
	for _, want := range []string{"a day later: depth along 21.5 mm", "Springback along: 8.", "The lay-up foretold", "The one earlier run", "edge.png"} {
		if code != exitOK || !strings.Contains(strings.Join(strings.Fields(out), " "), want) {
			t.Errorf("it does not say %q:\n%s", want, out)
		}
	}
	_, out, _ = call(t, config, "", "record", "outcome", "--json")
	var object map[string]any
	if err := json.Unmarshal([]byte(out), &object); err != nil || object["run"] != "deck-2" {
		t.Errorf("%v: %s", err, out)
	}
}

// A backup takes the photos with it, and a restore brings them back.
func TestBackupHasThePhotos(t *testing.T) {
	config, store := shelf(t, 1, "")
	picture := filepath.Join(t.TempDir(), "edge.png")
	var body bytes.Buffer
	if err := png.Encode(&body, image.NewRGBA(image.Rect(0, 0, 8, 8))); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(picture, body.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	copyTo := filepath.Join(t.TempDir(), "copy.db")
	for _, args := range [][]string{{"outcome", "deck-1", "--photo", picture}, {"backup", copyTo}} {
		if code, out, errs := call(t, config, "", append([]string{"record"}, args...)...); code != exitOK {
			t.Fatalf("%v: %d, %s%s", args, code, out, errs)
		}
	}
	kept := filepath.Join(filepath.Dir(store.Path()), "photos", "deck-1", "edge.png")
	whole, err := os.ReadFile(kept) //nolint:gosec // of this test
	if err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(filepath.Dir(kept)); err != nil {
		t.Fatal(err)
	}
	code, out, errs := call(t, config, "", "record", "restore", copyTo)
	if code != exitOK || !strings.Contains(out, "(photos: 1)") {
		t.Fatalf("%d, %s%s", code, out, errs)
	}
	if back, err := os.ReadFile(kept); err != nil || !bytes.Equal(back, whole) { //nolint:gosec // of this test
		t.Errorf("after the restore: %d bytes, %v; want %d", len(back), err, len(whole))
	}
}

func TestOutcomesThatAreRefused(t *testing.T) {
	config, store := shelf(t, 1, "")
	text := filepath.Join(t.TempDir(), "deck.jpg")
	if err := os.WriteFile(text, []byte("no picture"), 0o600); err != nil {
		t.Fatal(err)
	}
	open := record.Run{ID: "open", Started: time.Now(), Stage: press.Hold}
	if err := store.PutRun(t.Context(), open); err != nil {
		t.Fatal(err)
	}
	if code, _, errs := call(t, config, "", "record", "outcome", "--note", "yesterday's"); code != exitOK {
		t.Errorf("without a name, beside one on the press: %d, %s", code, errs)
	}
	if list, err := store.Outcomes(t.Context(), "deck-1"); err != nil || len(list) != 1 || list[0].Notes != "yesterday's" {
		t.Errorf("it went to %v, %v", list, err)
	}
	for want, args := range map[string][]string{
		"unit":                  {"deck-1", "--depth-along", "21.5"},
		"not what a blank has":  {"deck-1", "--depth-along", "-3mm"},
		"yes or no":             {"deck-1", "--delaminated", "perhaps"},
		"release, day or week":  {"deck-1", "--after", "month", "--note", "x"},
		"JPEG, PNG or WebP":     {"deck-1", "--photo", text},
		"not been released yet": {"open", "--note", "x"},
		"not in the record":     {"deck-9", "--note", "x"},
	} {
		if code, _, errs := call(t, config, "", append([]string{"record", "outcome"}, args...)...); code != exitUsage || !strings.Contains(errs, want) {
			t.Errorf("%v: %d, %s", args, code, errs)
		}
	}
}

// The questions of a terminal, answered with slips and with nothing.
func TestOutcomeIsAsked(t *testing.T) {
	_, store := shelf(t, 1, "")
	run, err := store.Run(t.Context(), "deck-1")
	if err != nil {
		t.Fatal(err)
	}
	answers := "21.5\n21.5mm\n\n23.5mm\n\n\n\n1.85kg\nmaybe\nno\nlooks well\n\n"
	var out bytes.Buffer
	a := &app{streams: streams{strings.NewReader(answers), &out, &out}}
	o, told := record.NewOutcome(record.AfterDay), toldOutcome{}
	if err := a.askOutcome(&o, &told, run); err != nil {
		t.Fatalf("%v\n%s", err, out.String())
	}
	if o.Along.DepthM != 0.0215 || o.Along.MouldDepthM != 0.0235 || o.Across.DepthM.Known() || o.WeightKg != 1.85 || *o.Delaminated || o.Notes != "looks well" {
		t.Errorf("%+v\n%s", o, out.String())
	}
	if !strings.Contains(out.String(), "no unit") || !strings.Contains(out.String(), "say yes or no") {
		t.Errorf("slips are not told of:\n%s", out.String())
	}
	a.in = strings.NewReader("21mm\n")
	if err := a.askOutcome(&o, &told, run); err == nil {
		t.Error("cut off, and yet kept")
	}
}

func TestCompareAndExport(t *testing.T) {
	log := filepath.Join(t.TempDir(), "log")
	config, store := shelf(t, 6, fmt.Sprintf("[record]\nbuild_log = %q\n", log))
	for i := range 6 {
		o := record.NewOutcome(record.AfterDay)
		o.Across.DepthM, o.Across.MouldDepthM = press.Num(0.0215-0.0001*float64(i)), 0.0225
		if err := store.PutOutcome(t.Context(), fmt.Sprintf("deck-%d", i+1), o, true); err != nil {
			t.Fatal(err)
		}
	}
	code, out, errs := call(t, config, "", "record", "compare", "--last", "5")
	for _, want := range []string{"deck-6", "3.8 % → 6.4 %", "5 runs were measured", "nine cases of ten"} {
		if code != exitOK || !strings.Contains(strings.Join(strings.Fields(out), " "), want) {
			t.Errorf("it does not say %q: %s\n%s", want, errs, out)
		}
	}
	if strings.Contains(out, "deck-1 ") {
		t.Error("six runs are shown, five were asked for")
	}
	_, out, _ = call(t, config, "", "record", "compare", "deck-1", "deck-2", "--json")
	var object struct {
		Runs []struct {
			Run string `json:"run"`
		} `json:"runs"`
		Fits []map[string]any `json:"fits"`
	}
	if err := json.Unmarshal([]byte(out), &object); err != nil || len(object.Runs) != 2 || len(object.Fits) != 1 || object.Fits[0]["model"] != "none" {
		t.Errorf("%v: %s", err, out)
	}

	if code, out, errs := call(t, config, "", "record", "export", "--last"); code != exitOK || !strings.Contains(out, filepath.Join(log, "deck-6")) {
		t.Errorf("%d, %s, %s", code, out, errs)
	}
	page := filepath.Join(log, "deck-6", "record.md")
	if err := os.WriteFile(page, []byte("my words"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, _, errs := call(t, config, "", "record", "export", "--all"); code != exitOK || !strings.Contains(errs, "changed by hand") {
		t.Errorf("%d, %s", code, errs)
	}
	if entries, err := os.ReadDir(log); err != nil || len(entries) != 6 {
		t.Errorf("%v, %v", entries, err)
	}
	for _, args := range [][]string{{"--last", "--all"}, {"deck-1", "--all"}} {
		if code, _, _ := call(t, config, "", append([]string{"record", "export"}, args...)...); code != exitUsage {
			t.Errorf("%v ended with %d", args, code)
		}
	}
}

func TestPruneWantsToBeAsked(t *testing.T) {
	config, store := shelf(t, 8, "[nats]\nlisten = \"127.0.0.1:1\"\n")
	run, err := store.Run(t.Context(), "deck-1")
	if err != nil {
		t.Fatal(err)
	}
	for i := range 600 {
		s := sensor.Sample{Time: run.Started.Add(time.Duration(i) * 10 * time.Second), Bag: 16000, Ambient: 101000, GlueLine: 12, Air: 10}
		if err := store.AddSample(t.Context(), run.ID, s); err != nil {
			t.Fatal(err)
		}
	}
	if err := store.Flush(t.Context()); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{}, {"--older-than", "20d"}, {"--older-than", "x"}} {
		if code, _, errs := call(t, config, "", append([]string{"record", "prune"}, args...)...); code != exitUsage {
			t.Errorf("%v: %d, %s", args, code, errs)
		}
	}
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"--older-than", "90d"}, "nothing to thin"},
		{[]string{"--keep", "8"}, "nothing to thin"},
		{[]string{"--older-than", "45d", "--dry-run"}, "deck-1  600   100"},
		{[]string{"--older-than", "45d"}, "deck-1  600   100"},
		{[]string{"--older-than", "45d"}, "nothing to thin"},
	} {
		if code, out, errs := call(t, config, "", append([]string{"record", "prune"}, c.args...)...); code != exitOK || !strings.Contains(out, c.want) {
			t.Errorf("%v: %d, %s%s", c.args, code, out, errs)
		}
	}
}
