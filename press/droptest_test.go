package press_test

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

const hour = 3600

// bench is the bag on the bench, a sample a second, with a leak (Pa/h) and some
// air that settles.
type bench struct {
	bag    *sim.Bag
	at     time.Time
	run    *press.Run
	events []press.Event
	last   []sensor.Sample
}

// newBench pumps the bag down from 60 s to 240 s.
func newBench(leak float64, change ...func(*sim.Config)) *bench {
	cfg := sim.Plain()
	cfg.Start = sim.BoatShedBegins(time.UTC)
	cfg.Bag.Pockets = []sim.Pocket{{Share: 0.005, Lag: 3 * time.Minute}}
	cfg.Part = sim.Part{NoisePa: 10, StepPa: 1, AmbientNoisePa: 2, TempNoiseC: 0.02}
	cfg.Pump.UltimatePa = 14e3
	cfg.Scenario.PumpRuns = []sim.PumpRun{{From: time.Minute, To: 6 * time.Minute}}
	cfg.Scenario.Leaks = []sim.Leak{{PaPerH: leak}}
	for _, c := range change {
		c(&cfg)
	}
	return &bench{bag: sim.New(cfg), at: cfg.Start, run: press.New(press.Config{Site: "boatshed", Press: "sled"})}
}

func (b *bench) play(seconds int) {
	for range seconds {
		s := b.bag.Step(b.at)
		b.last = append(b.last, s)
		b.events = append(b.events, b.run.Advance(s)...)
		b.at = b.at.Add(time.Second)
	}
}

// until plays until the drop test is over, at most so many seconds.
func (b *bench) until(seconds int) press.DropTest {
	for range seconds {
		if b.play(1); !b.run.Status().DropTest.Running() {
			break
		}
	}
	return *b.run.Status().DropTest
}

func (b *bench) order(t *testing.T, o press.DropTestOrder) {
	t.Helper()
	events, err := b.run.DropTest(o)
	if err != nil {
		t.Fatal(err)
	}
	b.events = append(b.events, events...)
}

// need is an order for a test that wants 65 kPa kept for so many hours.
func need(hours float64) press.DropTestOrder {
	return press.DropTestOrder{HoldS: press.Num(hours * hour), FloorPa: press.Unknown(), WithinS: press.Unknown()}
}

// TestDropTestOfTheEmptyBag orders the test before the bag is pumped down: it is
// guided through the pumping, and no pressing is made of it.
func TestDropTestOfTheEmptyBag(t *testing.T) {
	for _, c := range []struct {
		leak float64
		want press.DropOutcome
		says string
	}{
		{60, press.DropHolds, "The bag holds. It leaks"},
		{6000, press.DropFails, "Find the leak and seal it, or top up every"},
	} {
		b := newBench(c.leak)
		b.play(10)
		b.order(t, need(24))
		if st := b.run.Status(); st.DropTest.State != press.DropPump || st.Work != press.EmptyBag || !strings.Contains(st.Sentence, "pump the bag down") {
			t.Fatalf("ordered on an idle press: %+v", st.DropTest)
		}
		got := b.until(2 * hour)
		if got.Outcome != c.want || !strings.Contains(got.Sentence, c.says) {
			t.Errorf("leak of %.0f Pa/h: %+v", c.leak, got)
		}
		t.Logf("%.0f s: %s", float64(got.TookS), got.Sentence)
		if truth := press.Num(c.leak * (101325 / 101325.0)); got.Rate.Low > truth*1.05 || got.Rate.High < truth*0.95 {
			t.Errorf("leak of %.0f Pa/h: measured as %+v", c.leak, got.Rate)
		}
		for _, never := range []press.Kind{press.PulldownStarted, press.LeakFound, press.BelowFloor, press.VacuumLost, press.MarginGone, press.PressTimeReached} {
			if slices.Contains(kinds(b.events), never) {
				t.Errorf("the test of an empty bag said %s", never)
			}
		}
	}
}

// An empty bag that is opened after its test closes the run, and alarms nobody.
func TestEmptyBagOpenedAfterItsTest(t *testing.T) {
	b := newBench(60, func(c *sim.Config) { c.Scenario.Release = 2 * time.Hour })
	b.play(10)
	b.order(t, need(24))
	b.play(2*hour + 600)
	if st := b.run.Status(); st.Stage != press.Release || st.DropTest.Outcome != press.DropHolds {
		t.Errorf("opened after the test: %s, %+v", st.Stage, st.DropTest)
	}
	want := []press.Kind{press.DropTestStarted, press.HoldStarted, press.DropTestEnded, press.Released}
	if !slices.Equal(kinds(b.events), want) {
		t.Errorf("events %v, want %v", kinds(b.events), want)
	}
}

// TestDropTestWithinARun measures against what the glue needs.
func TestDropTestWithinARun(t *testing.T) {
	b := newBench(150)
	b.run = press.New(press.Config{Site: "boatshed", Press: "sled", Sheet: sheet(t, "pva-d3")})
	b.play(600)
	left := b.run.Status().PressTimeAt.Late.Sub(b.at).Seconds()
	b.order(t, press.DropTestOrder{HoldS: press.Unknown(), FloorPa: press.Unknown(), WithinS: press.Unknown()})
	if hold := float64(b.run.Status().DropTest.HoldS); math.Abs(hold-left) > 600 || left < 3600 {
		t.Errorf("the bag must hold for %.0f s, the glue is done in %.0f s at the latest", hold, left)
	}
	got := b.until(2 * hour)
	if got.Outcome != press.DropHolds || got.Empty {
		t.Errorf("%+v", got)
	}
	if st := b.run.Status(); st.Stage != press.Hold || st.Glue != "pva-d3" {
		t.Errorf("the test took the run along: %s %s", st.Stage, st.Glue)
	}
}

// A pump stroke, a dead part, a gap and a word break the test off, each with its
// reason.
func TestDropTestBrokenOff(t *testing.T) {
	for reason, c := range map[string]struct {
		change func(*sim.Config)
		do     func(*testing.T, *bench)
	}{
		"pumped": {change: func(c *sim.Config) {
			c.Scenario.PumpRuns = append(c.Scenario.PumpRuns, sim.PumpRun{From: 15 * time.Minute, To: 16 * time.Minute})
			c.Pump.UltimatePa = 10e3
			c.Scenario.PumpRuns[0].ToVacuumPa = 80e3
		}},
		"sensor": {change: func(c *sim.Config) {
			c.Scenario.Faults = []sim.Fault{{Kind: sim.Silent, Quantity: "bag", From: 12 * time.Minute}}
		}},
		"gap":       {do: func(_ *testing.T, b *bench) { b.at = b.at.Add(10 * time.Minute) }},
		"cancelled": {do: func(t *testing.T, b *bench) { b.order(t, press.DropTestOrder{Cancel: true}) }},
		"released":  {do: func(_ *testing.T, b *bench) { b.events = append(b.events, b.run.Release()...) }},
	} {
		b := newBench(800, func(cfg *sim.Config) {
			if c.change != nil {
				c.change(cfg)
			}
		})
		b.play(660)
		b.order(t, need(24))
		b.play(5)
		if c.do != nil {
			c.do(t, b)
		}
		got := b.until(hour)
		if got.Outcome != press.DropBrokenOff || got.Reason != reason || !strings.Contains(got.Sentence, "broken off") {
			t.Errorf("%s: %+v", reason, got)
		}
		if n := count(b.events, press.DropTestEnded); n != 1 {
			t.Errorf("%s: %d times drop_test_ended", reason, n)
		}
	}
}

// When the builder has no patience, or the noise is too large, the test says so,
// with what it knows.
func TestDropTestCannotTell(t *testing.T) {
	b := newBench(800, func(c *sim.Config) { c.Part.NoisePa = 60 })
	b.play(660)
	o := need(24)
	o.WithinS = 600
	b.order(t, o)
	got := b.until(hour)
	if got.Outcome != press.DropCannotTell || got.TookS < 600 || got.TookS > 602 || !strings.Contains(got.Sentence, "cannot tell") {
		t.Errorf("%+v", got)
	}
	t.Log(got.Sentence)
}

// TestDropTestWaitsForTheValve: a pump that still draws at its lowest pressure is
// no tight bag. The builder's word, or the first fall, begins the measurement.
func TestDropTestWaitsForTheValve(t *testing.T) {
	b := newBench(3000, func(c *sim.Config) { c.Scenario.PumpRuns[0].To = 20 * time.Minute })
	b.play(10)
	b.order(t, need(24))
	b.play(15 * 60)
	if got := b.run.Status().DropTest; got.State != press.DropShut || !strings.Contains(got.Sentence, "shut the valve") {
		t.Fatalf("with the pump on: %+v", got)
	}
	if got := b.until(hour); got.Outcome != press.DropFails {
		t.Errorf("%+v", got)
	}
	b = newBench(60)
	b.play(10)
	b.order(t, need(24))
	b.play(430)
	if got := b.run.Status().DropTest; got.State != press.DropShut {
		t.Fatalf("after the pull-down: %+v", got)
	}
	b.order(t, need(24))
	b.play(1)
	if got := b.run.Status().DropTest; got.State != press.DropSettle {
		t.Errorf("after the builder's word: %+v", got)
	}
}

// TestDropTestOrdersOutOfPlace: each is refused with a code and the remedy.
func TestDropTestOrdersOutOfPlace(t *testing.T) {
	b := newBench(60)
	refuse := func(o press.DropTestOrder, code int, says string) {
		t.Helper()
		_, err := b.run.DropTest(o)
		if press.Code(err) != code || !strings.Contains(err.Error(), says) {
			t.Errorf("got %v, want %d saying %q", err, code, says)
		}
	}
	refuse(need(24), press.WrongStage, "sensor read")
	b.play(660)
	refuse(press.DropTestOrder{Cancel: true}, press.WrongStage, "no drop test")
	refuse(need(24*30), press.BadOrder, "14 days")
	refuse(press.DropTestOrder{HoldS: 3600, FloorPa: 95e3, WithinS: press.Unknown()}, press.WrongStage, "below the floor")
	refuse(press.DropTestOrder{HoldS: 3600, FloorPa: 65e3, WithinS: 1}, press.BadOrder, "48 hours")
	b.order(t, need(24))
	refuse(need(24), press.WrongStage, "--cancel")
}

// TestDropTestOverARestart: a test that ran when nightclamp stopped is told as
// broken off, one that was over is still told; and the empty bag stays one.
func TestDropTestOverARestart(t *testing.T) {
	for _, empty := range []bool{true, false} {
		b := newBench(800)
		if !empty {
			b.run = press.New(press.Config{Site: "boatshed", Press: "sled", Sheet: sheet(t, "pva-d3")})
			b.play(660)
		} else {
			b.play(10)
		}
		b.order(t, need(24))
		b.play(500)
		again := func() (*press.Run, []press.Event) {
			text, err := json.Marshal(b.events)
			if err != nil {
				t.Fatal(err)
			}
			var kept []press.Event
			if err := json.Unmarshal(text, &kept); err != nil {
				t.Fatal(err)
			}
			from := slices.IndexFunc(b.last, func(s sensor.Sample) bool { return !s.Time.Before(kept[0].Time) })
			return press.Resume(b.run.Config(), kept, slices.Values(b.last[from:]))
		}
		run, said := again()
		i := slices.IndexFunc(said, func(e press.Event) bool { return e.Kind == press.DropTestEnded })
		if i < 0 || said[i].Outcome != press.DropBrokenOff || said[i].Reason != "restart" {
			t.Errorf("empty %t: after a restart: %v", empty, said)
		}
		if got := run.Status().DropTest; got == nil || got.Outcome != press.DropBrokenOff || got.Empty != empty || run.Stage() != press.Hold {
			t.Errorf("empty %t: after a restart in %s: %+v", empty, run.Stage(), got)
		}
		over := b.until(3 * hour)
		run, said = again()
		got := run.Status().DropTest
		if got.Outcome != over.Outcome || got.Sentence != over.Sentence || count(said, press.DropTestEnded) > 0 {
			t.Errorf("empty %t: told after a restart\n%+v, said %v, want\n%+v", empty, got, said, over)
		}
	}
}
