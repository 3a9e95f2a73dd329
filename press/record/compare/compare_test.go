package compare

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor"
)

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// decks are invented runs: each deck gives back 1.3 times what its lay-up foretells
// and a little more or less, and the bag gets worse.
func decks(n int) []Facts {
	var list []Facts
	for i := range n {
		foretold, wobble := 0.02+0.01*float64(i%4), []float64{0.002, -0.001, 0, -0.002, 0.001}[i%5]
		leak := press.Num(200 + 60*float64(i) + 20*float64(i%2))
		list = append(list, Facts{
			Run: fmt.Sprintf("deck-%d", i+1), Press: "deck", Leak: press.Band{Low: leak - 9, Expected: leak, High: leak + 9},
			Bends: []Bend{{Predicted: press.Num(foretold), Measured: press.Band{Expected: press.Num(1.3*foretold + wobble)}}},
		})
	}
	return list
}

func TestWhatTheNextBoardLearns(t *testing.T) {
	few := Of(decks(4))
	if len(few.Fits) != 2 || few.Fits[0].Model != NoModel || !strings.Contains(few.Fits[0].Say(units.Display{}), "too few") {
		t.Errorf("four decks: %+v", few.Fits)
	}
	c := Of(decks(9))
	back, leak := c.Fits[0], c.Fits[1]
	if back.What != SpringbackAlong || back.Model != Line || back.Slope.Band.Low > 1.3 || back.Slope.Band.High < 1.3 || !back.Inside {
		t.Errorf("springback: %+v", back)
	}
	if next := 1.3 * float64(back.At); float64(back.Next.Low) > next || float64(back.Next.High) < next {
		t.Errorf("the next deck: %+v", back.Next)
	}
	if leak.What != LeakRate || leak.At != 10 || leak.Slope.Band.Low > 60 || leak.Slope.Band.High < 60 ||
		!strings.Contains(leak.Say(units.Display{}), "leaks more from run to run") {
		t.Errorf("leak: %+v\n%s", leak, leak.Say(units.Display{}))
	}
}

func TestSayDoesNotSayNaN(t *testing.T) {
	for n := range 12 {
		for _, f := range Of(decks(n)).Fits {
			if s := f.Say(units.Display{}); strings.Contains(s, "NaN") || strings.Contains(s, "–") {
				t.Errorf("%d: %s", n, s)
			}
		}
	}
	odd := decks(6)
	odd[5].Bends[0].Predicted = 0.2
	odd[5].Bends[0].Measured.Expected = press.Unknown()
	if s := Of(odd).Fits[0].Say(units.Display{}); !strings.Contains(s, "do not rely on it") {
		t.Errorf("far from all that was seen: %s", s)
	}
}

// The facts come out of a real record.
func TestGather(t *testing.T) {
	s, err := record.Open(t.Context(), filepath.Join(t.TempDir(), "r.db"), record.Options{})
	must(t, err)
	defer func() { must(t, s.Close()) }()
	begin := time.Date(2026, 10, 17, 18, 0, 0, 0, time.UTC)
	run := record.Run{ID: "deck-1", Press: "deck", Work: "sled deck", Started: begin, Ended: begin.Add(3 * time.Hour), Verdict: press.Pressed,
		Final: []byte(`{"clamped_progress":{"expected":1.1},"unclamped_share":0.1,"leak_rate_pa_per_h":{"low":100,"expected":150,"high":200}}`)}
	event := func(after time.Duration, kind press.Kind) press.Event {
		return press.Event{Time: begin.Add(after), Press: "deck", Run: run.ID, Kind: kind}
	}
	must(t, s.Commit(t.Context(), record.Batch{Run: &run, Events: []press.Event{
		event(time.Hour, press.HoldStarted), event(90*time.Minute, press.ToppedUp), event(3*time.Hour, press.Released),
	}}))
	for i := range 180 {
		sample := sensor.Sample{Time: begin.Add(time.Duration(i) * time.Minute), Bag: 16000, Ambient: 101000, GlueLine: 15, Air: 10}
		switch i {
		case 10:
			sample.GlueLine = 3 // before the hold
		case 100:
			sample.GlueLine = 9.5
		}
		must(t, s.AddSample(t.Context(), run.ID, sample))
	}
	must(t, s.Flush(t.Context()))
	o := record.NewOutcome(record.AfterDay)
	o.WeightKg, o.Along.DepthM, o.Along.MouldDepthM = 1.8, 0.019, 0.020
	must(t, s.PutOutcome(t.Context(), run.ID, o, false))
	f, err := Gather(t.Context(), s, run)
	must(t, err)
	if f.HoldS != 7200 || f.TopUps != 1 || f.ColdestC != 9.5 || f.Progress != 1.1 || f.Unclamped != 0.1 || f.Leak.Expected != 150 || f.WeightKg != 1.8 ||
		len(f.Bends) != 1 || !f.Bends[0].Measured.Expected.Known() {
		t.Errorf("%+v", f)
	}
	open := record.Run{ID: "deck-2", Press: "deck", Started: begin.Add(24 * time.Hour)}
	must(t, s.PutRun(t.Context(), open))
	if runs, err := Select(t.Context(), s, s.Run, nil, "", 5); err != nil || len(runs) != 1 {
		t.Errorf("%v, %+v", err, runs)
	}
	if runs, err := Select(t.Context(), s, s.Run, []string{"deck-2", "deck-1", "deck-1"}, "", 0); err != nil || len(runs) != 2 || runs[0].ID != "deck-1" {
		t.Errorf("%v, %+v", err, runs)
	}
	if f, err := Gather(t.Context(), s, open); err != nil || f.ColdestC.Known() || f.Leak.Expected.Known() {
		t.Errorf("%v, %+v", err, f)
	}
}
