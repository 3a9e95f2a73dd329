package press_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

// pinched is a bag on the bench with a leak, a hose that is pinched from one
// hour to two, and a pump that is used at an hour and a half.
func pinched(t *testing.T, atPump bool, change ...func(*sim.Config)) *bench {
	t.Helper()
	b := newBench(6000, append(change, func(c *sim.Config) {
		c.Scenario.Pinches = []sim.Pinch{{From: time.Hour, To: 2 * time.Hour, AtPump: atPump}}
	})...)
	b.run = press.New(press.Config{Site: "boatshed", Press: "sled", Sheet: sheet(t, "pva-d3")})
	return b
}

func pumpsAgain(c *sim.Config) {
	c.Scenario.PumpRuns = append(c.Scenario.PumpRuns, sim.PumpRun{From: 90 * time.Minute, To: 92 * time.Minute})
}

// blocked plays until the line is said to be blocked, and looks at what is told.
func (b *bench) blocked(t *testing.T, reason string, from, to int) {
	t.Helper()
	b.play(to)
	i := slices.IndexFunc(b.events, func(e press.Event) bool { return e.Kind == press.LineBlocked })
	if i < 0 {
		t.Fatalf("a pinched hose was not noticed: %v", kinds(b.events))
	}
	at := b.events[i].Time.Sub(sim.BoatShedBegins(time.UTC))
	if at < time.Duration(from)*time.Second || b.events[i].Reason != reason {
		t.Errorf("blocked %s, after %s", b.events[i].Reason, at)
	}
	st := b.run.Status()
	if st.Verdict != press.Unsure || st.LeakRate.Expected.Known() || !st.FloorAt.Expected.IsZero() || st.MarginS.Expected.Known() {
		t.Errorf("with a blocked line something is still known: %s %v %v", st.Verdict, st.LeakRate, st.FloorAt)
	}
	if !strings.Contains(st.Sentence, "Follow the hose") || strings.Contains(st.Sentence, "Sleep") {
		t.Errorf("told as %q", st.Sentence)
	}
	t.Log(at, st.Sentence)
}

// back plays until the pinch is over and something shows that.
func (b *bench) back(t *testing.T, seconds int) {
	t.Helper()
	before := b.run.Status().ClampedProgress.Expected
	b.play(seconds)
	if n := count(b.events, press.LineBack); n != 1 || count(b.events, press.LineBlocked) != 1 {
		t.Fatalf("%d times line_back: %v", n, kinds(b.events))
	}
	st := b.run.Status()
	if st.LineReason != "" || strings.Contains(st.Sentence, "hose") {
		t.Errorf("afterwards: %q", st.Sentence)
	}
	if st.VacuumPa >= st.FloorPa && !(st.ClampedProgress.Expected > before) {
		t.Errorf("nothing is earned any more")
	}
}

// A bag that flutters in the draught falls silent when its hose is pinched.
func TestPinchedHoseFallsSilent(t *testing.T) {
	b := pinched(t, false, func(c *sim.Config) { c.Bag.UnrestPa, c.Scenario.Leaks = 30, nil })
	b.blocked(t, press.LineQuiet, 3600, 3600+300)
	b.back(t, 3600)
}

// The pump draws on the hose alone, far quicker than it drew on the bag.
func TestPumpOnAPinchedHose(t *testing.T) {
	b := pinched(t, false, pumpsAgain)
	b.blocked(t, press.LineQuick, 5400, 5400+120)
	b.back(t, 2400)
}

// The builder says that he pumped, and the vacuum shows nothing of it.
func TestPumpWithoutResponse(t *testing.T) {
	b := pinched(t, true, pumpsAgain, func(c *sim.Config) {
		c.Scenario.PumpRuns = append(c.Scenario.PumpRuns, sim.PumpRun{From: 125 * time.Minute, To: 127 * time.Minute})
	})
	b.play(5520)
	b.events = append(b.events, b.run.TopUp("pumped up by hand", 0)...)
	b.blocked(t, press.LineNoResponse, 5400+600, 605)
	b.back(t, 2400)
}

// What is no blocked line: a top-up that is seen, before or after it is said; a
// pump that has nothing to do; a hand pump; a bag that is sound.
func TestLineThatIsNotBlocked(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*sim.Config)
		saidAt int
	}{
		"seen before it is said": {pumpsAgain, 5600},
		"seen after it is said":  {pumpsAgain, 5300},
		"never said":             {pumpsAgain, 1 << 30},
		"nothing to pump":        {func(c *sim.Config) { c.Scenario.Leaks = nil }, 5400},
		"flutters":               {func(c *sim.Config) { c.Bag.UnrestPa = 30 }, 1 << 30},
		"hand pump": {func(c *sim.Config) {
			pumpsAgain(c)
			c.Pump = sim.Pump{StrokeL: 0.3, StrokesPerMin: 40, UltimatePa: 12e3}
		}, 5600},
		"big pump": {func(c *sim.Config) {
			pumpsAgain(c)
			c.Pump.SpeedLPerMin = 60
		}, 5600},
	} {
		b := newBench(6000, c.change)
		for i := range 3 * 3600 {
			if b.play(1); i == c.saidAt {
				b.events = append(b.events, b.run.TopUp("pumped", 0)...)
			}
		}
		if n := count(b.events, press.LineBlocked); n > 0 {
			t.Errorf("%s: %v", name, b.events)
		}
	}
}

// A blocked line is still blocked after a restart.
func TestBlockedLineOverARestart(t *testing.T) {
	b := pinched(t, false, pumpsAgain)
	b.play(5600)
	from := slices.IndexFunc(b.events, func(e press.Event) bool { return e.Kind == press.PulldownStarted })
	var thin = everyTenth(b.last)
	for len(thin) > 0 && thin[0].Time.Before(b.events[from].Time) {
		thin = thin[1:]
	}
	run, said := press.Resume(b.run.Config(), b.events, slices.Values(thin))
	st := run.Status()
	if count(said, press.LineBack) > 0 || !strings.Contains(st.Sentence, "Follow the hose") || st.LineReason != press.LineQuick {
		t.Errorf("after a restart: %q, said %v", st.Sentence, said)
	}
}

// A gauge part that is stuck moves what is worked out from it with the barometer;
// that is a stuck part and no pinched hose.
func TestStuckGaugePart(t *testing.T) {
	b := newBench(0, func(c *sim.Config) {
		c.Part.Gauge, c.Part.AmbientNoisePa = true, 2
		c.Scenario.Faults = []sim.Fault{{Kind: sim.Stuck, Quantity: "bag", From: time.Hour}}
	})
	b.play(2 * 3600)
	i := slices.IndexFunc(b.events, func(e press.Event) bool { return e.Kind == press.SensorStuck })
	if i < 0 || b.events[i].Quantity != "bag" || count(b.events, press.LineBlocked) > 0 {
		t.Errorf("%v", b.events)
	}
}

// A pump that a relay switches, and of which the vacuum shows nothing.
func TestSwitchedPumpWithoutResponse(t *testing.T) {
	b := pinched(t, true)
	b.play(5400)
	b.events = append(b.events, b.run.Pump(true, "low")...)
	b.play(60)
	b.events = append(b.events, b.run.Pump(false, "enough")...)
	b.blocked(t, press.LineNoResponse, 5400, 60)
}

// Spikes look like strokes; they are no reason to doubt the line, not even when
// the readings are quiet again afterwards.
func TestSpikesAreNoBlockedLine(t *testing.T) {
	for _, by := range []float64{-4900, -400, 400, 4900} {
		b := newBench(6000, func(c *sim.Config) {
			c.Scenario.Faults = []sim.Fault{{Kind: sim.Spike, Quantity: "bag", From: time.Hour, To: 80 * time.Minute, By: by}}
		})
		b.play(2 * 3600)
		if n := count(b.events, press.LineBlocked); n > 0 {
			t.Errorf("spikes by %.0f Pa: %v", by, b.events)
		}
	}
}
