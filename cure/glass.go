package cure

import "math"

// Glass is how the glass transition of a resin rises as it cures, by DiBenedetto
// (1987): from that of the fresh mix to that of the fully cured resin.
type Glass struct {
	FreshC, FullC float64 // °C
	Lambda        float64 // 0..1, the bend of the curve
}

// Transition is the glass transition temperature at a degree of cure, °C.
func (g Glass) Transition(cure float64) float64 {
	return g.FreshC + (g.FullC-g.FreshC)*g.Lambda*cure/(1-(1-g.Lambda)*cure)
}

// StallsAt is the degree of cure, 0 to 1, at which a resin held at atC turns to
// glass and all but stops: the inverse of Transition. It is why a cold-cured
// epoxy stays short of full cure however long one waits.
func (g Glass) StallsAt(atC float64) float64 {
	x := (atC - g.FreshC) / (g.FullC - g.FreshC)
	if x <= 0 {
		return 0
	}
	return math.Min(1, x/(g.Lambda+(1-g.Lambda)*x))
}
