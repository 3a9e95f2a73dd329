package sim

import (
	"math"
	"math/rand/v2"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// The gas is carried on by at most maxStep at once, and by pumpStep while the
// pump is on, so that it stops where it should. When nobody asks for days the
// steps become longer: a Step never takes more than maxSteps of them.
const (
	maxStep  = time.Second
	pumpStep = 100 * time.Millisecond
	maxSteps = 200_000
)

// State is the truth that the readings are made from.
type State struct {
	BagPa     float64 // absolute pressure in the bag
	LinePa    float64 // the same where the part is: the bag's, unless a hose is pinched
	Pinched   bool    // the part does not see the bag
	VapourPa  float64 // the part of it that is water vapour
	AmbientPa float64
	GasC      float64
	GluelineC float64
	AirC      float64
	Pumping   bool
	Open      bool // the room's air is in the bag
}

// Bag is one simulated press. It is not safe for concurrent use.
type Bag struct {
	cfg   Config
	begun bool
	start time.Time
	at    time.Duration // since start

	volume   float64 // m³
	air, vap float64 // mol
	pockets  []float64
	lags     lags
	weather  weather
	leaks    []leakFlow
	pump     pumping
	line     line
	readings readings
}

// New returns a bag before its scenario begins. The config must be one that
// [Config.Check] passes.
func New(cfg Config) *Bag {
	b := &Bag{cfg: cfg, volume: cfg.Bag.FreeVolumeL / 1000}
	b.pockets = make([]float64, len(cfg.Bag.Pockets))
	b.leaks = newLeaks(cfg.Scenario.Leaks, b.volume)
	b.pump = pumping{cfg: cfg.Pump, runs: cfg.Scenario.PumpRuns, reached: make([]bool, len(cfg.Scenario.PumpRuns))}
	b.weather = weather{shop: cfg.Shop, room: cfg.Room, fronts: cfg.Scenario.Fronts, rng: rand.New(rand.NewPCG(cfg.Seed, 1))}                                           //nolint:gosec // noise, not secrets
	b.readings = readings{cfg: cfg.Part, faults: cfg.Scenario.Faults, unrest: cfg.Bag.UnrestPa, shopPct: cfg.Shop.HumidityPct, rng: rand.New(rand.NewPCG(cfg.Seed, 2))} //nolint:gosec // noise, not secrets
	b.lags.cfg = cfg.Bag
	return b
}

// Step carries the bag on to t and returns what its parts read there. A time
// before the last one changes nothing but the reading's noise. A first time
// before [Config.Start] finds the bag as it is at the start.
func (b *Bag) Step(t time.Time) sensor.Sample {
	if !b.begun {
		b.begin(t)
	}
	b.run(t.Sub(b.start))
	return b.readings.sample(t, b.at, b.State())
}

// State returns the truth at the last Step.
func (b *Bag) State() State {
	rtv := b.pascalPerMole()
	bag := (b.air + b.vap) * rtv
	return State{
		BagPa:     bag,
		LinePa:    b.line.reads(bag),
		Pinched:   b.line.shut,
		VapourPa:  b.vap * rtv,
		AmbientPa: b.weather.ambient,
		GasC:      b.lags.gas,
		GluelineC: b.lags.glueline,
		AirC:      b.weather.air,
		Pumping:   b.pump.on,
		Open:      b.open(),
	}
}

// Drive switches the pump by hand or by a relay, besides what the scenario
// does with it.
func (b *Bag) Drive(on bool) { b.pump.driven = on }

func (b *Bag) begin(t time.Time) {
	b.begun = true
	b.start = b.cfg.Start
	if b.start.IsZero() {
		b.start = t
	}
	clock := b.start
	midnight := time.Date(clock.Year(), clock.Month(), clock.Day(), 0, 0, 0, 0, clock.Location())
	b.weather.begin(clock.Sub(midnight).Seconds())
	b.lags.gas, b.lags.glueline = b.weather.air, b.weather.air
	b.fill()
}

// fill lets the room's air into the bag and into the pockets.
func (b *Bag) fill() {
	vapour := min(b.weather.shop.HumidityPct/100*SaturationPa(b.weather.air), b.weather.ambient)
	rtv := b.pascalPerMole()
	b.vap = vapour / rtv
	b.air = (b.weather.ambient - vapour) / rtv
	for i := range b.pockets {
		b.pockets[i] = b.weather.ambient
	}
}

func (b *Bag) run(to time.Duration) {
	least := (to - b.at) / maxSteps
	for b.at < to {
		step := maxStep
		if b.pump.on {
			step = pumpStep
		}
		step = min(max(step, least), to-b.at)
		b.advance(step)
		b.at += step
	}
}

func (b *Bag) advance(step time.Duration) {
	b.weather.advance(b.at + step)
	b.lags.advance(step, b.weather.air)
	switch {
	case !b.open():
		b.exchange(step.Seconds())
	case b.at < b.cfg.Scenario.sealAt():
		b.fill()
	default:
		b.pump.on = false
		b.vent(step.Seconds())
	}
}

func (b *Bag) open() bool {
	s := &b.cfg.Scenario
	return b.at < s.sealAt() || (s.Release > 0 && b.at >= s.Release)
}

// exchange is one step of a closed bag.
func (b *Bag) exchange(dt float64) {
	rtv := b.pascalPerMole()
	p := (b.air + b.vap) * rtv
	for i := range b.leaks {
		b.air += b.leaks[i].flow(b.at, p, b.weather.ambient, b.weather.rootT) * dt
	}
	for i, pocket := range b.pockets {
		out := (pocket - p) * b.lags.pocketGain[i]
		b.pockets[i] -= out
		b.air += out * b.cfg.Bag.Pockets[i].Share / rtv
	}
	if b.cfg.Bag.GasPaPerH > 0 {
		since := b.at - b.cfg.Scenario.sealAt()
		b.air += b.cfg.Bag.GasPaPerH / 3600 * dt / rtv * math.Exp(-since.Seconds()/b.cfg.Bag.GasDies.Seconds())
	}
	b.vap += (b.lags.vapour - b.vap*rtv) * b.lags.vapourGain / rtv
	p = (b.air + b.vap) * rtv
	kept := b.pumped(dt, p)
	b.air *= kept
	b.vap *= kept
}

// vent is one step of a bag that was opened: it fills within seconds.
func (b *Bag) vent(dt float64) {
	const lag = 4.0 // s
	air, vap := b.air, b.vap
	b.fill()
	left := math.Exp(-dt / lag)
	b.air += (air - b.air) * left
	b.vap += (vap - b.vap) * left
}

// pascalPerMole is R·T/V.
func (b *Bag) pascalPerMole() float64 {
	return gasConstant * (b.lags.gas + zeroC) / b.volume
}
