package cure

import "math"

// Conversion is the degree of cure after t of an nth-order reaction
// da/dt = k(1-a)^n from a = 0; k and t in matching units. With one activation
// energy it holds along any temperature path when t is the equivalent age.
func Conversion(k, n, t float64) float64 {
	if n == 1 {
		return -math.Expm1(-k * t)
	}
	return 1 - math.Pow(1+(n-1)*k*t, -1/(n-1))
}

// TimeTo is the time that [Conversion] takes to reach a, 0 <= a < 1.
func TimeTo(k, n, a float64) float64 {
	if n == 1 {
		return -math.Log1p(-a) / k
	}
	return (math.Pow(1-a, 1-n) - 1) / ((n - 1) * k)
}

// GlassTransition is the glass transition temperature at a degree of cure, °C,
// by DiBenedetto: from that of the fresh mix to that of the fully cured resin,
// lambda between 0 and 1.
func GlassTransition(fresh, full, lambda, cure float64) float64 {
	return fresh + (full-fresh)*lambda*cure/(1-(1-lambda)*cure)
}

// StallsAt is the degree of cure at which a resin held at atC turns to glass
// and all but stops: the inverse of [GlassTransition], within 0 to 1. It is why
// a cold-cured epoxy stays short of full cure however long one waits.
func StallsAt(fresh, full, lambda, atC float64) float64 {
	x := (atC - fresh) / (full - fresh)
	return math.Max(0, math.Min(1, x/(lambda+(1-lambda)*x)))
}
