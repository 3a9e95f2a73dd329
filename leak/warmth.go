package leak

import "math"

// warmth follows the temperatures. What it keeps are sums of (p/T)·dT, so that
// the answer of the gas is a plain number near one however the pressure changes.
type warmth struct {
	known    bool // a temperature was read
	hasAir   bool // the air's was among the first readings
	hasGlue  bool // and another that is not the air's
	gas, air float64
	lagged   [3]float64 // °C
	damp     float64    // the glue's temperature, as the vapour follows it, °C
	sum, was [4]float64 // Pa
	moist    float64    // saturation pressure at damp beside the one at the begin, Pa
	moist0   float64
	seen     float64 // T of the last temperature, s
	restive  float64 // mean square, K², of how far the temperature is from its own past
	stir     float64 // its root, K
	quantum  float64 // smallest step of the temperature seen, K
}

// Lags of the gas behind the air, and, when the glue line's is the only
// temperature, behind and (by differences) ahead of that, s.
func airLags() [3]float64  { return [3]float64{180, 720, 2700} }
func glueLags() [3]float64 { return [3]float64{30, 600, 2400} }

// moved reports whether the air has just become warmer or colder, so that what
// is foreseen of the gas is out of date.
func (w *warmth) moved(b *block) bool {
	return w.hasAir && b.airN > 0 && math.Abs(b.air/b.airN-w.air) > 0.1
}

// vapourLag is how far, s, the vapour is behind the temperature that w.gas is.
func (w *warmth) vapourLag() float64 {
	if w.hasGlue {
		return 480
	}
	return 5400
}

func (w *warmth) begin(b *block, t float64) {
	*w = warmth{restive: sq(0.1), stir: 0.1}
	w.read(b, t)
	w.hasAir = b.airN > 0
	w.hasGlue = b.gasN > 0 && (!w.hasAir || b.gas/b.gasN != b.air/b.airN)
	w.start()
}

func (w *warmth) start() {
	for i := range w.lagged {
		w.lagged[i] = w.gas
		if w.hasAir {
			w.lagged[i] = w.air
		}
	}
	w.damp = w.gas
	w.moist0 = saturation(w.gas)
}

// read takes what the block knows.
func (w *warmth) read(b *block, t float64) {
	gas, air := math.NaN(), math.NaN()
	if b.gasN > 0 {
		gas = b.gas / b.gasN
	}
	if b.airN > 0 {
		air = b.air / b.airN
	}
	if math.IsNaN(gas) {
		gas = air
	}
	if math.IsNaN(gas) {
		return
	}
	if step := math.Abs(gas - w.gas); w.known && step > 1e-6 && (w.quantum == 0 || step < w.quantum) {
		w.quantum = step
	}
	w.gas, w.seen = gas, t
	if !math.IsNaN(air) {
		w.air = air
	}
	if !w.known {
		w.known = true
		w.start()
	}
}

// follow brings everything up to t, dt after the last time, at pressure p.
func (w *warmth) follow(b *block, t, dt, p float64) {
	before, wasKnown := w.gas, w.known
	w.read(b, t)
	if !w.known {
		return
	}
	if !wasKnown {
		before = w.gas
	}
	w.was = w.sum
	perKelvin := p / (w.gas + zeroKelvin)
	lags, source := glueLags(), w.gas
	if w.hasAir {
		lags, source = airLags(), w.air
	}
	w.restive += (sq(source-w.lagged[1]) - w.restive) * -math.Expm1(-dt/hour)
	w.stir = math.Sqrt(w.restive)
	var moved [3]float64
	for i := range w.lagged {
		moved[i] = (source - w.lagged[i]) * -math.Expm1(-dt/lags[i])
		w.lagged[i] += moved[i]
	}
	if w.hasAir {
		for i := range moved {
			w.sum[i] += perKelvin * moved[i]
		}
		w.sum[3] += perKelvin * (w.gas - before)
	} else {
		w.sum[0] += perKelvin * moved[0]
		w.sum[1] += perKelvin * (moved[0] - moved[1])
		w.sum[2] += perKelvin * (moved[0] - moved[2])
	}
	w.damp += (w.gas - w.damp) * -math.Expm1(-dt/w.vapourLag())
	w.moist = saturation(w.damp) - w.moist0
}

// drift is how fast, K/h, the gas may warm or cool without the thermometers
// showing it. A heater warms the air, and the gas, long before the glue line.
func (w *warmth) drift() float64 {
	switch {
	case !w.known:
		return 8
	case !w.hasAir:
		// The faster the glue warms, the further the gas may be ahead of it.
		return 4 + 5*math.Abs(w.lagged[0]-w.lagged[1])
	}
	return 0.15 + 3*w.stir
}

// doubt is by how much, in the square root of an hour, the gas's answer to the
// thermometers may change: the sun comes round, a draught, a heater elsewhere.
func (w *warmth) doubt() float64 {
	if w.hasAir {
		return 0.03
	}
	return 0.15
}

// off is how far the gas may stray from what the thermometers tell, K.
func (w *warmth) off(t float64) float64 {
	if !w.known || t-w.seen > gapTime {
		return 1.5
	}
	least := 0.03 + 0.3*w.stir
	if !w.hasAir {
		least += 0.5
	}
	return least + 0.15*math.Abs(w.lagged[0]-w.lagged[2]) + 0.3*w.quantum
}

// saturation pressure of water vapour at c °C, Pa: the Magnus form of the WMO
// Guide to Instruments and Methods of Observation (No. 8).
func saturation(c float64) float64 { return 611.2 * math.Exp(17.62*c/(243.12+c)) }
