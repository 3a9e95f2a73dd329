package sim

import (
	"fmt"
	"slices"
	"time"
)

// Scenario is what happens when, counted from [Config.Start].
type Scenario struct {
	// Seal is when the bag is closed; before it the room's air is in it. Zero:
	// at the first PumpRun.
	Seal time.Duration `toml:"seal" doc:"when the bag is closed; 0: when the pump first starts"`
	// Release is when the bag is opened again; zero: never.
	Release time.Duration `toml:"release" doc:"when the bag is opened; 0: never"`

	PumpRuns []PumpRun `toml:"pump_runs" doc:"when the pump is used: {from, to, to_vacuum_pa, on_below_pa}"`
	Leaks    []Leak    `toml:"leaks" doc:"leaks: {from, to, pa_per_h, hole_um, creep_pa_per_h2, seam}"`
	Pinches  []Pinch   `toml:"pinches" doc:"hoses pinched shut: {from, to, at_pump}"`
	Fronts   []Front   `toml:"fronts" doc:"weather: {from, to, by_pa}"`
	Faults   []Fault   `toml:"faults" doc:"faults of the parts: {kind, quantity, from, to, by}"`
}

// PumpRun is one use of the pump, for pull-down or a top-up.
type PumpRun struct {
	From time.Duration `toml:"from"`
	To   time.Duration `toml:"to"` // zero: to the end
	// ToVacuumPa ends it early; zero: it runs until To.
	ToVacuumPa float64 `toml:"to_vacuum_pa"`
	// OnBelowPa makes the pump start again, still before To, when the vacuum
	// has fallen below it. Zero: it does not.
	OnBelowPa float64 `toml:"on_below_pa"`
}

// Leak is one way in for the room's air. Either PaPerH or HoleUm is given.
type Leak struct {
	From time.Duration `toml:"from"`
	To   time.Duration `toml:"to"` // zero: to the end
	// PaPerH is the rise it causes in this bag while the flow is choked, with
	// the room at 101325 Pa and 20 °C, Pa/h. (Of a seam: in an empty bag.)
	PaPerH float64 `toml:"pa_per_h"`
	// HoleUm is the diameter of a round hole, µm.
	HoleUm float64 `toml:"hole_um"`
	// CreepPaPerH2 is how fast the leak grows, Pa/h in an hour.
	CreepPaPerH2 float64 `toml:"creep_pa_per_h2"`
	// Seam makes the flow laminar, as through a long narrow path.
	Seam bool `toml:"seam"`
}

// Pinch is a hose that is pinched shut, between the bag and the part that reads
// it, or, with AtPump, between that part and the pump.
type Pinch struct {
	From   time.Duration `toml:"from"`
	To     time.Duration `toml:"to"` // zero: to the end
	AtPump bool          `toml:"at_pump"`
}

// Front is a change of the barometer, spread evenly over its time.
type Front struct {
	From time.Duration `toml:"from"`
	To   time.Duration `toml:"to"`
	ByPa float64       `toml:"by_pa"`
}

// FaultKind is what a part does wrong.
type FaultKind string

// The faults: no answer; the last value for ever; one reading in ten off by
// By; every reading off by By.
const (
	Silent FaultKind = "silent"
	Stuck  FaultKind = "stuck"
	Spike  FaultKind = "spike"
	Jump   FaultKind = "jump"
)

// Fault is a time during which one part misbehaves.
type Fault struct {
	Kind     FaultKind     `toml:"kind"`
	Quantity string        `toml:"quantity"` // bag, ambient, glueline or air
	From     time.Duration `toml:"from"`
	To       time.Duration `toml:"to"` // zero: to the end
	By       float64       `toml:"by"` // Pa or K
}

func (s Scenario) check() error {
	for i, l := range s.Leaks {
		if l.PaPerH < 0 || l.HoleUm < 0 || (l.PaPerH > 0 && l.HoleUm > 0) {
			return fmt.Errorf("simulated bag: leak %d has pa_per_h %g and hole_um %g: give one of them, not negative", i+1, l.PaPerH, l.HoleUm)
		}
	}
	for i, f := range s.Fronts {
		if f.To <= f.From {
			return fmt.Errorf("simulated bag: front %d goes from %v to %v: it must end after it begins", i+1, f.From, f.To)
		}
	}
	for i, f := range s.Faults {
		if !slices.Contains([]FaultKind{Silent, Stuck, Spike, Jump}, f.Kind) {
			return fmt.Errorf("simulated bag: kind of fault %d is %q: give silent, stuck, spike or jump", i+1, f.Kind)
		}
		if quantityIndex(f.Quantity) < 0 {
			return fmt.Errorf("simulated bag: quantity of fault %d is %q: give bag, ambient, glueline or air", i+1, f.Quantity)
		}
	}
	return nil
}

// sealAt is when the bag is closed.
func (s *Scenario) sealAt() time.Duration {
	if s.Seal > 0 || len(s.PumpRuns) == 0 {
		return s.Seal
	}
	first := s.PumpRuns[0].From
	for _, r := range s.PumpRuns[1:] {
		first = min(first, r.From)
	}
	return first
}

// within reports whether at is in [from, to), with to zero for no end.
func within(at, from, to time.Duration) bool {
	return at >= from && (to == 0 || at < to)
}
