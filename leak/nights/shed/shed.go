// Package shed makes up nights in a boat shed by the thousand: a bag, a room, a
// part that reads them and what happens, all drawn from a seed. The bag is the
// physical one of sensor/sim.
package shed

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"github.com/nightclamp/nightclamp/leak"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

// Leak is what goes wrong with the bag in a night; the zero value is nothing.
type Leak struct {
	PaPerH  float64 // choked
	After   time.Duration
	Creep   bool // it grows to PaPerH over two hours instead of at once
	Seam    bool // laminar
	KeepsOn bool // no top-up, so that nothing but the leak happens after it began
}

// Night is one night, ready to be played.
type Night struct {
	Sim     sim.Config
	Every   time.Duration // between readings
	Length  time.Duration // of the hold
	Gassing bool
	Gaps    [][2]time.Duration // nothing is recorded from, to
	Begins  time.Duration      // when the pump stops after pull-down
	Leak    Leak
}

// Part is the sensor that all of a batch of nights use; zero values are drawn.
type Part struct {
	NoisePa float64
	Every   time.Duration
	// Well: the part and its wiring have no faults, and both temperatures are
	// there. What the bag and the room do is drawn all the same.
	Well bool
}

// String tells what matters of the night in a line.
func (n Night) String() string {
	b, p, h := n.Sim.Bag, n.Sim.Part, n.Sim.Shop
	s := fmt.Sprintf("every %v, noise %.0f step %.0f Pa, %.1f Pa/K, %.1f Pa/h, no air %t no glue %t gauge %t, glue %v gas %v vapour %v %.2f, pockets", n.Every, p.NoisePa, p.StepPa, p.DriftPaPerK, p.DriftPaPerH,
		p.NoAir, p.NoGlueline, p.Gauge, b.GluelineLag.Round(time.Minute), b.GasLag.Round(time.Minute), b.VapourLag.Round(time.Minute), b.WaterActivity)
	for _, k := range b.Pockets {
		s += fmt.Sprintf(" %.3f@%v", k.Share, k.Lag.Round(time.Minute))
	}
	s += fmt.Sprintf(", shop %.0f±%.1f wander %.1f heater %.0f K", h.MeanC, h.SwingC, h.WanderC, h.HeaterK)
	if n.Gassing {
		s += fmt.Sprintf(", gas %.0f Pa/h for %v", b.GasPaPerH, b.GasDies.Round(time.Minute))
	}
	for _, r := range n.Sim.Scenario.PumpRuns[1:] {
		s += fmt.Sprintf(", pumped %.0f", (r.From - n.Begins).Seconds())
	}
	for _, f := range n.Sim.Scenario.Faults {
		s += fmt.Sprintf(", %s %.0f at %.0f to %.0f", f.Kind, f.By, (f.From - n.Begins).Seconds(), (f.To - n.Begins).Seconds())
	}
	for _, g := range n.Gaps {
		s += fmt.Sprintf(", gap %.0f to %.0f", (g[0] - n.Begins).Seconds(), (g[1] - n.Begins).Seconds())
	}
	return s
}

const pulldown = 8 * time.Minute

// Evening is when every night begins.
func Evening() time.Time { return time.Date(2026, time.October, 16, 20, 0, 0, 0, time.UTC) }

// Draw makes the night of the seed.
func Draw(seed uint64, part Part, l Leak) Night {
	r := draw{rand.New(rand.NewPCG(seed, 0x6e69676874))} //nolint:gosec // noise, not secrets
	n := Night{Every: part.Every, Length: 12 * time.Hour, Begins: pulldown, Leak: l}
	c := sim.Plain()
	c.Seed, c.Start = seed, Evening()
	r.vessel(&c, &n)
	r.room(&c)
	r.part(&c, part)
	if n.Every == 0 {
		n.Every = pick(r, time.Second, time.Second, time.Second, 10*time.Second, 2*time.Second)
	}
	r.happenings(&c, &n, part.Well)
	n.Sim = c
	return n
}

type draw struct{ *rand.Rand }

func (r draw) between(a, b float64) float64 { return a + (b-a)*r.Float64() }
func (r draw) logBetween(a, b float64) float64 {
	return a * math.Pow(b/a, r.Float64())
}
func (r draw) chance(p float64) bool { return r.Float64() < p }
func (r draw) time(a, b time.Duration) time.Duration {
	return a + time.Duration(r.Float64()*float64(b-a))
}

func pick[T any](r draw, of ...T) T { return of[r.IntN(len(of))] }

func (r draw) vessel(c *sim.Config, n *Night) {
	v := &c.Bag
	v.FreeVolumeL = r.logBetween(1.5, 25)
	v.Pockets = nil
	for range 1 + r.IntN(3) {
		v.Pockets = append(v.Pockets, sim.Pocket{Share: r.between(0.005, 0.03), Lag: time.Duration(r.logBetween(1, 45) * float64(time.Minute))})
	}
	v.WaterActivity = r.between(0, 0.95)
	v.VapourLag = r.time(4*time.Minute, 15*time.Minute)
	v.GasLag = r.time(3*time.Minute, 20*time.Minute)
	v.GluelineLag = r.time(36*time.Minute, 4*time.Hour)
	if n.Gassing = r.chance(0.15); n.Gassing {
		v.GasPaPerH = r.between(200, 1500)
		v.GasDies = r.time(time.Hour, 4*time.Hour)
	}
	c.Pump = sim.Pump{SpeedLPerMin: v.FreeVolumeL * 2.5, UltimatePa: r.between(10e3, 26e3)}
	c.Scenario.PumpRuns = []sim.PumpRun{{From: 0, To: pulldown}}
}

func (r draw) room(c *sim.Config) {
	c.Shop = sim.Shop{
		MeanC: r.between(6, 22), SwingC: r.between(0.5, 5), WarmestHour: 15,
		WanderC: r.between(0.05, 0.4), WanderLag: r.time(30*time.Minute, 2*time.Hour),
		HumidityPct: 75, HeaterLag: r.time(10*time.Minute, 40*time.Minute),
	}
	if r.chance(0.5) {
		c.Shop.HeaterK = r.between(3, 10)
		c.Shop.HeaterOnC = c.Shop.MeanC + r.between(-2, 1)
		c.Shop.HeaterOffC = c.Shop.HeaterOnC + r.between(0.7, 2)
	}
	c.Room = sim.Room{PressurePa: r.between(88e3, 103e3), WanderPa: r.between(5, 40), WanderLag: 2 * time.Hour}
	for at := time.Duration(0); at < 12*time.Hour; {
		from := at + r.time(0, 3*time.Hour)
		to := from + r.time(time.Hour, 8*time.Hour)
		// Real fronts: one hour in a hundred moves more than 160 Pa.
		c.Scenario.Fronts = append(c.Scenario.Fronts, sim.Front{From: from, To: to, ByPa: 100 * r.NormFloat64() * math.Sqrt((to - from).Hours())})
		at = to
	}
}

func (r draw) part(c *sim.Config, p Part) {
	noise := p.NoisePa
	if noise == 0 {
		noise = r.logBetween(2, 30)
	}
	c.Part = sim.Part{
		NoisePa: noise, StepPa: pick(r, 0., 1, 1, 10, 15), DriftPaPerH: 2 * r.NormFloat64(), DriftPaPerK: 3 * r.NormFloat64(),
		AmbientNoisePa: r.between(0.5, 4), TempNoiseC: r.between(0, 0.05), TempStepC: pick(r, 0.0625, 0.0625, 0.1, 0.25),
	}
	if p.Well {
		c.Part.StepPa = 1
		return
	}
	c.Part.NoAir = r.chance(0.25)
	c.Part.NoGlueline = !c.Part.NoAir && r.chance(0.2)
	c.Part.Gauge = r.chance(0.2)
}

func (r draw) happenings(c *sim.Config, n *Night, well bool) {
	s := &c.Scenario
	if l := n.Leak; l.PaPerH > 0 {
		s.Leaks = append(s.Leaks, leaks(l)...)
	}
	if !n.Leak.KeepsOn && r.chance(0.4) {
		at := r.time(time.Hour, 11*time.Hour)
		s.PumpRuns = append(s.PumpRuns, sim.PumpRun{From: at, To: at + r.time(10*time.Second, time.Minute)})
	}
	if well {
		return
	}
	for _, kind := range []sim.FaultKind{sim.Spike, sim.Silent, sim.Stuck, sim.Jump} {
		if !r.chance(0.25) {
			continue
		}
		at := r.time(30*time.Minute, 11*time.Hour)
		if slices.ContainsFunc(s.Faults, func(f sim.Fault) bool { return at < f.To+time.Minute && at > f.From-20*time.Minute }) {
			continue // two faults at once make one that no part has
		}
		f := sim.Fault{Kind: kind, Quantity: "bag", From: at, To: at + r.time(time.Minute, 20*time.Minute), By: pick(r, -1., 1.) * r.logBetween(100, 5000)}
		s.Faults = append(s.Faults, f)
	}
	if r.chance(0.2) {
		at := r.time(time.Hour, 10*time.Hour)
		n.Gaps = append(n.Gaps, [2]time.Duration{at, at + r.time(2*time.Minute, 2*time.Hour)})
	}
}

func leaks(l Leak) []sim.Leak {
	from := pulldown + l.After
	if !l.Creep {
		return []sim.Leak{{From: from, PaPerH: l.PaPerH, Seam: l.Seam}}
	}
	const grows = 2 * time.Hour
	return []sim.Leak{
		{From: from, To: from + grows, PaPerH: 0.001, CreepPaPerH2: l.PaPerH / grows.Hours(), Seam: l.Seam},
		{From: from + grows, PaPerH: l.PaPerH, Seam: l.Seam},
	}
}

// Step is a moment of the night, as an estimator's owner sees it.
type Step struct {
	Reading leak.Reading
	Sample  sensor.Sample
	TopUp   bool // the pump has just stopped; the reading is the first after it
	Truth   sim.State
}

// Play calls see for every reading of the hold while the pump is off, until it
// returns false. Reading.T counts from the begin of the hold.
func (n Night) Play(see func(Step) bool) {
	bag, begin := sim.New(n.Sim), Evening()
	pumped := false
	for at := time.Duration(0); at < n.Begins+n.Length; at += n.Every {
		s := bag.Step(begin.Add(at))
		truth := bag.State()
		if at < n.Begins || n.gap(at) {
			continue
		}
		if truth.Pumping {
			pumped = true
			continue
		}
		if !see(Step{Reading: n.reading(at, s), Sample: s, TopUp: pumped, Truth: truth}) {
			return
		}
		pumped = false
	}
}

// PlayAll calls see for every sample, from the moment before the pull-down on.
func (n Night) PlayAll(see func(sensor.Sample)) {
	bag, begin := sim.New(n.Sim), Evening()
	for at := time.Duration(0); at < n.Begins+n.Length; at += n.Every {
		if s := bag.Step(begin.Add(at)); !n.gap(at) {
			see(s)
		}
	}
}

func (n Night) gap(at time.Duration) bool {
	for _, g := range n.Gaps {
		if at >= g[0] && at < g[1] {
			return true
		}
	}
	return false
}

func (n Night) reading(at time.Duration, s sensor.Sample) leak.Reading {
	gas := s.GlueLine
	if math.IsNaN(gas) {
		gas = s.Air
	}
	return leak.Reading{T: (at - n.Begins).Seconds(), Bag: s.Bag, Ambient: s.Ambient, Gas: gas, Air: s.Air}
}
