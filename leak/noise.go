package leak

import "math"

// noise learns the standard deviation of one reading from the readings
// themselves: a reading is held against the mean of its two neighbours, which
// takes out any drift.
type noise struct {
	n       float64 // contrasts seen, up to the memory
	v       float64 // variance of one reading, Pa²
	lately  float64 // the same over the last few dozen readings
	quantum float64 // smallest step seen, Pa; 0 before the first
	gain    float64 // 1/n, and the same for lately
	quick   float64
	far     float64 // how far a reading may be off, Pa
}

const (
	noiseMemory = 500.0
	noiseLately = 40.0
	noiseStart  = 8.0
	spike       = 5.0 // standard deviations
)

// limit is how far, Pa, a reading may be from its neighbours before it is
// looked at closely.
func (z *noise) limit() float64 {
	if z.n < noiseStart {
		return math.Inf(1)
	}
	return z.far
}

// learn takes three readings that follow each other.
func (z *noise) learn(before, mid, after float64) {
	if step := math.Abs(after - mid); step > 1e-3 && (z.quantum == 0 || step < z.quantum) {
		z.quantum = step
	}
	c := mid - (before+after)/2
	got := c * c / 1.5 // Var(c) = 1.5 σ²
	if z.n >= noiseStart {
		got = min(got, 16*z.variance())
	}
	if z.n < noiseMemory {
		z.n++
		z.gain, z.quick = 1/z.n, 1/min(z.n, noiseLately)
	}
	z.lately += (got - z.lately) * z.quick
	z.v += (got - z.v) * z.gain
}

// hushed reports whether the readings have become far quieter than they were,
// so that they hardly come from the bag: a part that is stuck, a hose pinched.
func (z *noise) hushed() bool {
	return z.n >= noiseMemory/2 && z.lately < 0.2*z.v && z.v > z.quantum*z.quantum
}

// settle works out what follows from the noise; once a block is enough.
func (z *noise) settle() { z.far = spike*z.sd() + 3*z.quantum }

// variance of one reading. A reading that comes in steps is at least as
// uncertain as its step, however still it stands.
func (z *noise) variance() float64 {
	return max(z.v, z.quantum*z.quantum/12)
}

func (z *noise) sd() float64 { return math.Sqrt(z.variance()) }

// ofMean is the variance of the mean of n readings. Averaging takes out what
// the noise stirs; the part of a coarse step that the noise does not stir stays
// (a step q under noise σ keeps an error of amplitude q/π·exp(−2π²σ²/q²)).
func (z *noise) ofMean(n float64) float64 {
	v := z.variance() / n
	if q := z.quantum; q > z.v {
		v += q * q / (2 * math.Pi * math.Pi) * math.Exp(-4*math.Pi*math.Pi*z.v/(q*q))
	}
	return v
}
