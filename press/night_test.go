package press_test

import (
	"bytes"
	"slices"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/cure/datasheets"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

func sheet(t testing.TB, name string) *cure.Sheet {
	t.Helper()
	s, _, err := datasheets.Load(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// boatShed is the demo's night, a sample a second.
func boatShed(t testing.TB) []sensor.Sample {
	t.Helper()
	cfg := sim.BoatShed()
	cfg.Start = sim.BoatShedBegins(time.UTC)
	bag := sim.New(cfg)
	var all []sensor.Sample
	for at := time.Duration(0); at <= sim.BoatShedLength; at += time.Second {
		all = append(all, bag.Step(cfg.Start.Add(at)))
	}
	return all
}

// press1 is a run on that night, started with the second sample.
func press1(t testing.TB) *press.Run {
	t.Helper()
	return press.New(press.Config{Site: "boatshed", Press: "sled", Sheet: sheet(t, "pva-d3")})
}

func play(run *press.Run, samples []sensor.Sample) []press.Event {
	var all []press.Event
	for i, s := range samples {
		all = append(all, run.Advance(s)...)
		if i == 0 {
			all = append(all, run.Start(s.Time)...)
		}
	}
	return all
}

func kinds(events []press.Event) []press.Kind {
	list := make([]press.Kind, len(events))
	for i, e := range events {
		list[i] = e.Kind
	}
	return list
}

// TestNight plays the demo's night. It is invented; what must come out of it is
// the story that was put in.
func TestNight(t *testing.T) {
	run := press1(t)
	samples := boatShed(t)
	events := play(run, samples)
	story := []press.Kind{
		press.LayupStarted, press.PulldownStarted, press.HoldStarted, press.Settled, press.LeakFound,
		press.MarginGone, press.ToppedUp, press.MarginBack, press.PressTimeReached, press.Released,
	}
	rest := kinds(events)
	for _, want := range story {
		i := slices.Index(rest, want)
		if i < 0 {
			t.Fatalf("the night lacks %s, or it comes too early; events are %v", want, kinds(events))
		}
		rest = rest[i+1:]
	}
	for _, never := range []press.Kind{press.BelowFloor, press.VacuumLost, press.TooCold, press.AssemblyOver, press.SensorStuck, press.SensorJumped, press.Gap} {
		if slices.Contains(kinds(events), never) {
			t.Errorf("the night has a %s that nobody put in", never)
		}
	}
	leakAt := samples[0].Time.Add(5*time.Hour + 20*time.Minute)
	found := events[slices.IndexFunc(events, func(e press.Event) bool { return e.Kind == press.MarginGone })]
	if delay := found.Time.Sub(leakAt); delay < 0 || delay > 10*time.Minute {
		t.Errorf("the leak of %s was judged dangerous at %s", leakAt, found.Time)
	}
	if st := run.Status(); st.Verdict != press.Pressed || st.Stage != press.Release {
		t.Errorf("at the end the run is in %s with verdict %s", st.Stage, st.Verdict)
	}
}

// TestDeterministic: the same samples make the same events, to the byte.
func TestDeterministic(t *testing.T) {
	samples := boatShed(t)
	var texts [2][]byte
	for i := range texts {
		for _, e := range play(press1(t), samples) {
			texts[i] = append(e.AppendJSON(texts[i], press.RFC3339), '\n')
		}
	}
	if !bytes.Equal(texts[0], texts[1]) {
		t.Error("two runs of the same samples differ")
	}
}

// TestResume cuts the night at several moments and picks the run up from what a
// record keeps: the events so far, and every tenth second.
func TestResume(t *testing.T) {
	samples := boatShed(t)
	whole := press1(t)
	wholeEvents := play(whole, samples)
	for _, cut := range []int{300, 700, 2 * 3600, 6 * 3600, 6*3600 + 1900, 20 * 3600, 28 * 3600} {
		first := press1(t)
		kept := play(first, samples[:cut])
		if len(kept) == 0 {
			t.Fatalf("no event before second %d", cut)
		}
		run, missed := press.Resume(press.Config{Site: "boatshed", Press: "sled", Sheet: sheet(t, "pva-d3")},
			kept, slices.Values(everyTenth(samples[:cut])))
		if run.ID() != first.ID() || run.Stage() != first.Stage() {
			t.Fatalf("cut at %d: picked up as %s in %s, was %s in %s", cut, run.ID(), run.Stage(), first.ID(), first.Stage())
		}
		events := slices.Concat(kept, missed)
		for _, s := range samples[cut:] {
			events = append(events, run.Advance(s)...)
		}
		for _, once := range []press.Kind{press.LayupStarted, press.PulldownStarted, press.HoldStarted, press.Settled, press.PressTimeReached, press.Released} {
			if n := count(events, once); n != count(wholeEvents, once) {
				t.Errorf("cut at %d: %d times %s", cut, n, once)
			}
		}
		got, want := run.Status().ClampedProgress.Expected, whole.Status().ClampedProgress.Expected
		if d := float64(got - want); d < -0.01 || d > 0.01 {
			t.Errorf("cut at %d: clamped progress is %v, without the cut it is %v", cut, got, want)
		}
	}
}

func everyTenth(samples []sensor.Sample) []sensor.Sample {
	var kept []sensor.Sample
	for i := 0; i < len(samples); i += 10 {
		kept = append(kept, samples[i])
	}
	return kept
}

func count(events []press.Event, kind press.Kind) int {
	n := 0
	for _, e := range events {
		if e.Kind == kind {
			n++
		}
	}
	return n
}

// TestResumeWithAnotherGlue works a run out again with the adhesive that was
// set afterwards.
func TestResumeWithAnotherGlue(t *testing.T) {
	samples := boatShed(t)[:8*3600]
	kept := play(press.New(press.Config{Press: "sled"}), samples)
	run, _ := press.Resume(press.Config{Press: "sled", Sheet: sheet(t, "pur-1c")}, kept, slices.Values(samples))
	straight := press.New(press.Config{Press: "sled", Sheet: sheet(t, "pur-1c")})
	play(straight, samples)
	got, want := run.Status(), straight.Status()
	if got.ClampedProgress != want.ClampedProgress || got.Glue != "pur-1c" {
		t.Errorf("worked out again: %s %v, known from the start: %v", got.Glue, got.ClampedProgress, want.ClampedProgress)
	}
	if want.ClampedProgress.Expected < 0.1 {
		t.Errorf("after eight hours the progress is %v: the test shows nothing", want.ClampedProgress)
	}
}

func BenchmarkAdvance(b *testing.B) {
	samples := boatShed(b)
	run := press1(b)
	play(run, samples[:4*3600])
	rest := samples[4*3600 : 28*3600]
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		if i == len(rest) {
			b.StopTimer()
			run, i = press1(b), 0
			play(run, samples[:4*3600])
			b.StartTimer()
		}
		run.Advance(rest[i])
		i++
	}
}

func BenchmarkStatus(b *testing.B) {
	run := press1(b)
	play(run, boatShed(b)[:6*3600])
	for b.Loop() {
		run.Status()
	}
}
