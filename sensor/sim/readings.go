package sim

import (
	"math"
	"math/rand/v2"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// The quantities, in the order in which readings are kept.
const (
	bag = iota
	ambient
	glueline
	air
	quantities
)

func quantityIndex(name string) int {
	switch name {
	case "bag":
		return bag
	case "ambient":
		return ambient
	case "glueline":
		return glueline
	case "air":
		return air
	}
	return -1
}

// readings makes samples of the truth.
type readings struct {
	cfg     Part
	faults  []Fault
	unrest  float64 // of the bag, Pa
	shopPct float64 // humidity of the shop, the same all night
	rng     *rand.Rand
	last    [quantities]float64 // for a part that sticks
	vacuum  float64             // the same for a gauge part
}

func (r *readings) sample(t time.Time, at time.Duration, s State) sensor.Sample {
	out := sensor.Blank(t)
	value := [quantities]float64{
		r.bag(at, s),
		s.AmbientPa + r.noise(r.cfg.AmbientNoisePa),
		r.temperature(s.GluelineC),
		r.temperature(s.AirC),
	}
	missing := [quantities]bool{ambient: r.cfg.NoAmbient, glueline: r.cfg.NoGlueline, air: r.cfg.NoAir}
	for q := range value {
		if missing[q] {
			value[q] = sensor.Missing
		}
	}
	for _, f := range r.faults {
		if q := quantityIndex(f.Quantity); within(at, f.From, f.To) && !missing[q] {
			value[q] = r.spoil(f, q, value[q])
		}
	}
	silence := [quantities]sensor.Quality{sensor.BagSilent, sensor.AmbientSilent, sensor.GlueLineSilent, sensor.AirSilent}
	for q, v := range value {
		if math.IsNaN(v) && !missing[q] {
			out.Quality |= silence[q]
		} else {
			r.last[q] = v
		}
	}
	out.Bag, out.Ambient, out.GlueLine, out.Air = value[bag], value[ambient], value[glueline], value[air]
	if !r.cfg.NoHumidity && r.shopPct > 0 {
		out.Humidity = r.shopPct
	}
	if r.cfg.Gauge {
		r.gauge(&out, at, s)
	}
	return out
}

// gauge turns the reading into that of a part that measures against the room:
// with no barometer it can only assume one.
func (r *readings) gauge(out *sensor.Sample, at time.Duration, s State) {
	vacuum := quantise(s.AmbientPa-out.Bag, r.cfg.StepPa)
	for _, f := range r.faults {
		if f.Kind == Stuck && f.Quantity == "bag" && within(at, f.From, f.To) {
			vacuum = r.vacuum // it is the part that sticks, not what is worked out from it
		}
	}
	r.vacuum = vacuum
	out.Quality |= sensor.Gauge
	if math.IsNaN(out.Ambient) {
		out.Ambient = standardRoomPa
		out.Quality |= sensor.AmbientAssumed
	}
	out.Bag = out.Ambient - vacuum
}

func (r *readings) bag(at time.Duration, s State) float64 {
	v := s.LinePa + r.cfg.OffsetPa + r.cfg.DriftPaPerH*at.Hours() + r.cfg.DriftPaPerK*(s.AirC-20)
	if !s.Pinched {
		v += r.noise(r.unrest)
	}
	v += r.noise(r.cfg.NoisePa)
	if r.cfg.Gauge {
		return v // what comes in steps is the vacuum that such a part reads
	}
	return quantise(v, r.cfg.StepPa)
}

func (r *readings) temperature(c float64) float64 {
	return quantise(c+r.noise(r.cfg.TempNoiseC), r.cfg.TempStepC)
}

func (r *readings) noise(sigma float64) float64 {
	if sigma <= 0 {
		return 0
	}
	return sigma * r.rng.NormFloat64()
}

func (r *readings) spoil(f Fault, q int, v float64) float64 {
	switch f.Kind {
	case Silent:
		return sensor.Missing
	case Stuck:
		return r.last[q]
	case Jump:
		return v + f.By
	case Spike:
		if r.rng.IntN(10) == 0 {
			return v + f.By
		}
	}
	return v
}

func quantise(v, step float64) float64 {
	if step <= 0 {
		return v
	}
	return math.Round(v/step) * step
}
