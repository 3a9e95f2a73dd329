package leak

import "math"

// Need is what a bag must do: keep the vacuum above Floor (Pa) for Hold (s), from
// the begin of the test, without a top-up.
type Need struct{ Hold, Floor float64 }

// Verdict of a drop test.
type Verdict int

// The verdicts: not enough is known yet; the bag holds as long as needed; it
// does not.
const (
	NotYet Verdict = iota
	Holds
	Fails
)

// DropTest is a guided drop test: the pump off, it waits out the settling and
// measures for as long as the noise demands, until the leak is certainly less,
// or certainly more, than the need allows. The rule for a running pump (1 inHg
// in 5 min, common practice, no source) is of no use here: it is 40 kPa/h, and
// would empty a sealed bag in three hours.
type DropTest struct {
	est   *Estimator
	need  Need
	start float64
	now   float64
	begun bool
}

// NewDropTest begins a drop test. The pump must be off, and stay off.
func NewDropTest(cfg Config, need Need) *DropTest {
	return &DropTest{est: New(cfg), need: need}
}

// Add takes the next reading.
func (d *DropTest) Add(r Reading) {
	if !d.begun {
		d.begun, d.start = true, r.T
	}
	d.now = r.T
	d.est.Add(r)
}

// Drop is how far a drop test has come.
type Drop struct {
	Verdict Verdict
	// Settled: the rise after pull-down has died away.
	Settled bool
	// Took is how long it has been measured, s; Left how long it will take about,
	// s, NaN while nothing can be said of that, as before the settling is over; 0
	// with a verdict.
	Took, Left float64
	// Known: Rate and its bounds mean something.
	Known bool
	// Rate, Low and High bound the leak, Pa/h; Allowed is what the need allows.
	Rate, Low, High, Allowed float64
}

// State is how far the test has come. The verdict can still change with more
// readings, but that is as unlikely as the bounds say.
func (d *DropTest) State() Drop {
	e := d.est.Estimate()
	s := Drop{
		Settled: e.Settled, Took: d.now - d.start, Left: math.NaN(),
		Known: e.Known, Rate: e.Rate, Low: e.Low, High: e.High, Allowed: math.NaN(),
	}
	if !d.est.begun {
		return s
	}
	// What has come in since the begin, by settling or by leak, has used up its part.
	s.Allowed = Allowed(d.est.pressure, d.est.room, d.need.Floor, max(d.need.Hold-s.Took, shortest))
	switch {
	case s.Allowed < 0:
		s.Verdict, s.Left = Fails, 0
	case !e.Known || s.Took < shortest:
	case e.High < s.Allowed:
		s.Verdict, s.Left = Holds, 0
	case e.Low > s.Allowed:
		s.Verdict, s.Left = Fails, 0
	case e.Settled || e.Low > 0:
		s.Left = d.left(e, s)
	}
	return s
}

// shortest is how long, s, even the quietest part is watched.
const shortest = 60.0

// left guesses how long the bounds will need to get clear of what is allowed: in
// white noise they shrink with the time to the power of 1.5.
func (d *DropTest) left(e Estimate, s Drop) float64 {
	gap := max(math.Abs(e.Rate-s.Allowed), 0.05*s.Allowed)
	half := (e.High - e.Low) / 2
	return s.Took * max(0.1, math.Pow(half/gap, 2.0/3)-1)
}
