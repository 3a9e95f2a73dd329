package leak

import "math"

// dryAir is the specific gas constant of dry air, J/(kg·K).
const dryAir = 287.05

// Flow is what comes in through a leak, Pa·m³/s, when it raises the pressure in
// a free volume (m³) at rate (Pa/h): V·dp/dt.
func Flow(rate, volume float64) float64 { return rate / hour * volume }

// Hole is the diameter, m, of the ideal round hole that lets flow (Pa·m³/s) in
// from a room at ambient (Pa) and roomC (°C) while the flow is choked, that is
// into a bag below 0.528 of ambient (the ideal flow of ISO 9300, discharge
// coefficient one). A real leak is longer, narrower and rougher.
func Hole(flow, ambient, roomC float64) float64 {
	speed := math.Sqrt(dryAir * (roomC + zeroKelvin))
	area := flow / (ambient * chokedFactor * speed)
	return math.Sqrt(4 * area / math.Pi)
}

// Volume is the free volume, m³, of a bag that n strokes of a pump that draws
// stroke (m³) at each brought from the pressure before to after (Pa), from
// p·(V/(V+s))ⁿ, and its bounds at 95 % when both pressures are known to sd (Pa).
// The strokes must follow each other quickly, or what settles and leaks
// meanwhile makes the bag look larger. Without a fall of the pressure there is
// no volume to be had: +Inf.
func Volume(before, after float64, n int, stroke, sd float64) (volume, low, high float64) {
	at := func(ratio float64) float64 {
		if n < 1 || !(ratio > 1) {
			return math.Inf(1)
		}
		return stroke / (math.Pow(ratio, 1/float64(n)) - 1)
	}
	// The relative errors of the two pressures add up in their ratio.
	half := twoSided * math.Hypot(sd/before, sd/after)
	ratio := before / after
	return at(ratio), at(ratio * (1 + half)), at(ratio * (1 - half))
}

// Allowed is the leak rate, Pa/h while the flow is choked, that a bag at the
// pressure bag (Pa) can have in a room at ambient (Pa), if its vacuum is to stay
// above floor (Pa) for hold (s) without a top-up. It is negative when the vacuum
// is below the floor already.
func Allowed(bag, ambient, floor, hold float64) float64 {
	target := ambient - floor
	if bag >= target {
		return -1
	}
	return riseTime(bag, target, ambient, 1) / hold * hour
}

// Cycles measures a leak by a pump that cycles: how far the pressure rises while
// the pump rests, and for how long. Its zero value is ready.
type Cycles struct {
	n, time, rise, square float64
}

// Add takes one rest of the pump: its length (s) and the rise of the bag's
// pressure (Pa). Leave out the first minutes of a rest when the bag still settles.
func (c *Cycles) Add(rest, rise float64) {
	if !(rest > 0) {
		return
	}
	c.n++
	c.time += rest
	c.rise += rise
	c.square += rise * rise / rest
}

// Rate is the leak rate, Pa/h, at the pressure that the pump keeps, and its
// bounds at 95 %, from how the rests differ; they are ±Inf for fewer than two.
func (c *Cycles) Rate() (rate, low, high float64) {
	if c.n < 2 {
		return c.rise / c.time * hour, math.Inf(-1), math.Inf(1)
	}
	mean := c.rise / c.time
	v := max(0, c.square-mean*c.rise) / (c.n - 1) / c.time
	half := studentT(c.n-1) * math.Sqrt(v)
	return mean * hour, (mean - half) * hour, (mean + half) * hour
}

// studentT is the 97.5 % point of Student's distribution with n degrees of
// freedom, to 1 % from n = 3 on (Abramowitz and Stegun 26.7.5) and exact below.
func studentT(n float64) float64 {
	switch n {
	case 1:
		return 12.706
	case 2:
		return 4.303
	}
	z := twoSided
	g1 := z * (z*z + 1) / 4
	g2 := z * (5*math.Pow(z, 4) + 16*z*z + 3) / 96
	g3 := z * (3*math.Pow(z, 6) + 19*math.Pow(z, 4) + 17*z*z - 15) / 384
	return z + g1/n + g2/(n*n) + g3/(n*n*n)
}
