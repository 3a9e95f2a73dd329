package layup

import "math"

// ply is one layer in one direction of bending.
type ply struct {
	e float64 // modulus in that direction, Pa
	t float64 // thickness, m
}

// Spring is what a stack does in one direction of bending.
type Spring struct {
	// Loose is the stiffness of the loose plies per metre of width, N m: the sum
	// of E I. It is what the bag must overcome.
	Loose float64
	// Glued is the stiffness of the same stack glued, N m.
	Glued float64
	// Back is the springback: the share of the curvature given back on release.
	Back float64
}

// springOf bends loose flat plies to a form, glues them there and lets go:
// composite-beam equilibrium with plane sections, thin plies, rigid glue that
// sets free of stress. The loose plies hold a moment Σ E I k; on release the
// glued stack takes the opposite: Δk/k = Σ(E I) / EI. For n equal plies that is
// 1/n². (Textbook mechanics: Timoshenko; Bodig and Jayne.)
//
// Not in it: creep and moisture during the hold, which lessen it; creep of a
// thermoplastic glue after release, and drying, which add to it for days.
func springOf(plies []ply) Spring {
	var sum, moment, depth float64
	for _, p := range plies {
		moment += p.e * p.t * (depth + p.t/2)
		sum += p.e * p.t
		depth += p.t
	}
	neutral := moment / sum
	s, z := Spring{}, 0.0
	for _, p := range plies {
		own := p.e * p.t * p.t * p.t / 12
		arm := z + p.t/2 - neutral
		s.Loose += own
		s.Glued += own + p.e*p.t*arm*arm
		z += p.t
	}
	s.Back = s.Loose / s.Glued
	return s
}

// Released is the radius the blank has after it was taken off a form, m.
func (s Spring) Released(form float64) float64 {
	if s.Back >= 1 {
		return math.Inf(1)
	}
	return form / (1 - s.Back)
}

// Form is the radius to cut the mould to for a wanted radius, m.
func (s Spring) Form(wanted float64) float64 { return wanted * (1 - s.Back) }

// Sagitta is the height of an arc of the radius over a chord, m.
func Sagitta(radius, chord float64) float64 {
	if chord/2 >= radius {
		return radius
	}
	return radius - math.Sqrt(radius*radius-chord*chord/4)
}

// seating is the even pressure that brings loose plies down to a form of the
// height over a span, Pa: 384 ΣEI w / (5 L⁴), a beam on two supports.
func seating(loose, height, span float64) float64 {
	return 384 * loose * height / (5 * math.Pow(span, 4))
}

// tightest is the radius at which a dry ply reaches its modulus of rupture, m.
func tightest(w Wood, thickness float64) float64 {
	return w.ElasticL * thickness / (2 * w.Rupture)
}
