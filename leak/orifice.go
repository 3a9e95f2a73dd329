package leak

import "math"

// Flow of air through a small hole from a room at p0 into a bag at p, after the
// isentropic nozzle with γ = 1.4 (the ideal flow of ISO 9300).
const (
	gammaAir = 1.4
	// ChokedRatio is (2/(γ+1))^(γ/(γ−1)), a share of the room's pressure: at or
	// below it the flow is choked and does not depend on the pressure in the bag.
	ChokedRatio = 0.5282817877171742
	// chokedFactor is sqrt(γ)·(2/(γ+1))^((γ+1)/(2(γ−1))).
	chokedFactor = 0.6847314563772704
)

// psi is the flow through an orifice at the pressure ratio r = p/p0, as a share
// of the choked flow: 1 up to the critical ratio, falling to 0 at r = 1.
func psi(r float64) float64 {
	if r <= ChokedRatio {
		return 1
	}
	if r >= 1 {
		return 0
	}
	flow := math.Pow(r, 2/gammaAir) - math.Pow(r, (gammaAir+1)/gammaAir)
	return math.Sqrt(2*gammaAir/(gammaAir-1)*flow) / chokedFactor
}

// riseTime is the time in which a leak that gives rate choked while the flow is
// choked raises the bag from p to target, in the unit of time of the rate. Above
// the critical ratio the flow falls as [psi] does. It is +Inf for no leak, and
// for a target at or above the room.
func riseTime(p, target, p0, choked float64) float64 {
	if target <= p {
		return 0
	}
	if !(choked > 0) || target >= p0 {
		return math.Inf(1)
	}
	critical := ChokedRatio * p0
	flat := max(0, min(target, critical)-p)
	t := flat / choked
	if from := max(p, critical); target > from {
		t += slowingRise(from/p0, target/p0) * p0 / choked
	}
	return t
}

// slowingRise is ∫ dr/ψ(r) from a to b, above the critical ratio, by the
// midpoint rule over u = sqrt(1−r), which takes the pole of 1/ψ at r = 1 away.
func slowingRise(a, b float64) float64 {
	const steps = 32
	from, to := math.Sqrt(1-b), math.Sqrt(1-a)
	du := (to - from) / steps
	sum := 0.0
	for i := range steps {
		u := from + (float64(i)+0.5)*du
		sum += 2 * u / psi(1-u*u)
	}
	return sum * du
}
