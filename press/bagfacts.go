package press

import (
	"math"

	"github.com/nightclamp/nightclamp/leak"
)

const (
	// pumpNoise is how many standard deviations of a reading the vacuum before and
	// after strokes may be off: they are means over some seconds.
	pumpNoise = 0.5
	// miscount is how many strokes a tired builder may be off.
	miscount = 1.5
	// cycleAfter is how long, s, after it was sealed a bag settles too fast for the
	// rests of a pump to tell of its leak; leastRest, s, is the shortest rest that
	// does, and fewestRests how many it takes.
	cycleAfter  = 1800.0
	leastRest   = 60.0
	fewestRests = 3
)

// Where a free volume comes from.
const (
	VolumeGiven   = "config"
	VolumeStrokes = "strokes"
)

// PumpCycle is what a pump that tops up by itself tells of the leak.
type PumpCycle struct {
	Rests int  `json:"rests"`         // that were measured
	Rate  Band `json:"rate_pa_per_h"` // the rise while the pump rests
	Duty  Num  `json:"duty"`          // share of the time for which the pump runs, 0..1
}

// bagFacts is what the run learns of its bag besides the rate of the leak.
type bagFacts struct {
	volume Band   // free volume, m³
	from   string // where that comes from; empty: it is not known

	strokes  int     // that the builder said he made; 0: none that wait for their top-up
	strokesT float64 // t at which he said so
	up       topUp   // the newest that was seen

	cycles      leak.Cycles
	rests       int
	restT       float64 // t at which the pump came to rest; NaN: not known
	restVac     float64 // vacuum then, Pa
	beganT      float64 // t at which it began to draw
	from0       float64 // bag pressure then, Pa
	onFor, rest float64 // s, together

	best Band // the leak where it was known best, Pa/h
}

type topUp struct{ t, before, after float64 } // bag pressures, Pa

func newBagFacts(cfg Config) bagFacts {
	f := bagFacts{volume: unknownBand(), best: unknownBand(), restT: math.NaN(), up: topUp{t: math.Inf(-1)}}
	if cfg.FreeVolumeM3 > 0 {
		v := Num(cfg.FreeVolumeM3)
		f.volume, f.from = Band{v, v, v}, VolumeGiven
	}
	return f
}

// pumpBegins is the begin of a top-up, from a bag pressure (Pa): it ends a rest of
// the pump.
func (f *bagFacts) pumpBegins(t, bag, room float64, settling bool) {
	f.beganT, f.from0 = t, bag
	rest := t - f.restT
	if settling || !(rest >= leastRest) { // NaN, not known, is not either
		return
	}
	f.cycles.Add(rest, f.restVac-(room-bag))
	f.rests++
	f.rest += rest
}

// pumped is the end of a top-up, at a bag pressure (Pa).
func (f *bagFacts) pumped(t, after, room float64) {
	if f.rests > 0 {
		f.onFor += t - f.beganT
	}
	f.restT, f.restVac = t, room-after
	f.up = topUp{t, f.from0, after}
}

// sizeUp works out the free volume from the strokes that a top-up took. The
// narrowest bounds stand.
func (f *bagFacts) sizeUp(strokeM3, sd float64) {
	n := f.strokes
	if n < 1 || strokeM3 <= 0 || f.from == VolumeGiven || math.Abs(f.up.t-f.strokesT) > responseWithin {
		return
	}
	f.strokes = 0
	v, low, high := leak.Volume(f.up.before, f.up.after, n, strokeM3, pumpNoise*sd)
	low, high = low*(1-miscount/float64(n)), high*(1+miscount/float64(n))
	b := Band{Num(low), Num(v), Num(high)}
	if !b.High.Known() || !b.Expected.Known() || low <= 0 {
		return
	}
	if f.from == "" || float64(b.High/b.Low) < float64(f.volume.High/f.volume.Low) {
		f.volume, f.from = b, VolumeStrokes
	}
}

// know keeps the leak where its bounds are narrowest.
func (f *bagFacts) know(e leak.Estimate) {
	if !e.Known || !e.Settled {
		return
	}
	if !f.best.High.Known() || e.High-e.Low <= float64(f.best.High-f.best.Low) {
		f.best = Band{Num(e.Low), Num(e.Rate), Num(e.High)}
	}
}

func (f *bagFacts) cycle() *PumpCycle {
	if f.rests < fewestRests {
		return nil
	}
	rate, low, high := f.cycles.Rate()
	return &PumpCycle{Rests: f.rests, Rate: Band{Num(max(0, low)), Num(max(0, rate)), Num(high)}, Duty: Num(f.onFor / (f.onFor + f.rest))}
}

// tellBag tells the leak as a flow and as a hole, where the free volume is known.
func (r *Run) tellBag(s *Status) {
	f := &r.facts
	s.FreeVolume, s.FreeVolumeFrom, s.BagLeak, s.PumpCycle = f.volume, f.from, f.best, f.cycle()
	s.LeakFlow, s.LeakHole = unknownBand(), unknownBand()
	if f.from == "" || !s.LeakRate.Expected.Known() {
		return
	}
	flow := func(rate, volume Num) Num { return Num(leak.Flow(float64(rate), float64(volume))) }
	s.LeakFlow = Band{flow(s.LeakRate.Low, f.volume.Low), flow(s.LeakRate.Expected, f.volume.Expected), flow(s.LeakRate.High, f.volume.High)}
	if !(s.BagPa < leak.ChokedRatio*s.AmbientPa) {
		return
	}
	roomC := s.AirC.Or(s.GluelineC.Or(20))
	hole := func(flow Num) Num { return Num(leak.Hole(float64(flow), float64(s.AmbientPa), roomC)) }
	s.LeakHole = Band{hole(s.LeakFlow.Low), hole(s.LeakFlow.Expected), hole(s.LeakFlow.High)}
}

// Worsens says that this bag leaks more from run to run: by which factor the
// newest runs leak more than the first, and over how many.
func (r *Run) Worsens(factor float64, runs int) []Event {
	r.out = nil
	r.emit(Event{Kind: BagWorsening, Factor: Num(factor), Runs: Num(runs), RatePaPerH: r.facts.best.Expected})
	return r.out
}
