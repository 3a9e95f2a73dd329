package layup

import "github.com/nightclamp/nightclamp/cure"

// BendPlan is one curve of the work.
type BendPlan struct {
	Across    bool    `json:"across"`
	WantedM   float64 `json:"wanted_radius_m"`
	Back      float64 `json:"springback"`      // share of the curvature given back
	FormM     float64 `json:"form_radius_m"`   // the radius to cut the mould to
	SagittaM  float64 `json:"form_sagitta_m"`  // of that form over the span
	SeatingPa float64 `json:"seating_pa"`      // to bring the loose plies down to the form
	TightestM float64 `json:"tightest_m"`      // at which the worst ply breaks, dry; 0: no ply runs that way
	SpanM     float64 `json:"span_m"`          // of the curved part
	ShareOf   float64 `json:"seating_of_held"` // seating pressure over the floor, or over the vacuum
}

// modulus of a ply in the direction of a bend, Pa.
func (p Ply) modulus(across bool) float64 {
	if p.Across != across {
		return p.Wood.ElasticL * p.Wood.AcrossOverAlong
	}
	return p.Wood.ElasticL
}

// BendPlans works out every curve of the lay-up.
func (l *Layup) BendPlans() []BendPlan {
	var list []BendPlan
	for _, b := range l.Bends {
		list = append(list, bendOf(l, b))
	}
	return list
}

func bendOf(l *Layup, b Bend) BendPlan {
	plies := make([]ply, len(l.Plies))
	out := BendPlan{Across: b.Across, WantedM: b.Radius, SpanM: b.Span}
	for i, p := range l.Plies {
		plies[i] = ply{p.modulus(b.Across), p.Thickness}
		if p.Across == b.Across {
			out.TightestM = max(out.TightestM, tightest(p.Wood, p.Thickness))
		}
	}
	s := springOf(plies)
	out.Back = s.Back
	out.FormM = s.Form(b.Radius)
	out.SagittaM = Sagitta(out.FormM, b.Span)
	out.SeatingPa = seating(s.Loose, out.SagittaM, b.Span)
	held := l.Floor
	if held == 0 {
		held = clampOf(l).VacuumPa
	}
	out.ShareOf = out.SeatingPa / held
	return out
}

// slab is the stack on its mould, top first, and how many layers lie above the
// lowest and above the middle glue line.
func (l *Layup) slab() (s Slab, lowest, middle int) {
	// From memory: 5 to 10 W/(m² K) in still air; less under a mould on a bench.
	s = Slab{FilmTop: 8, FilmBottom: 5}
	if l.Mould.BothSides {
		s.Layers = append(s.Layers, l.Mould.layer())
	} else if l.Blanket > 0 {
		s.Layers = append(s.Layers, Layer{l.Blanket, .04, 30 * 1000}) // fibre, from memory
	}
	above := len(s.Layers)
	for i := len(l.Plies) - 1; i >= 0; i-- {
		s.Layers = append(s.Layers, l.Plies[i].layer(l.Moisture))
	}
	s.Layers = append(s.Layers, l.Mould.layer())
	lowest = above + len(l.Plies) - 1
	middle = above + (len(l.Plies)+1)/2
	return s, lowest, middle
}

// layer is a ply as a layer of a slab at 20 °C.
func (p Ply) layer(moisture float64) Layer {
	density := 1000 * p.Wood.Gravity * (1 + moisture/100)
	return Layer{p.Thickness, Conductivity(p.Wood.Gravity, moisture), density * HeatCapacity(moisture, 20)}
}

// GlueLine is how the glue line of this stack follows the air.
func (l *Layup) GlueLine() cure.GlueLineConfig {
	return cure.GlueLineConfig{Lag: heatOf(l).LagS, StartC: l.StartC, HasStart: true}
}

func heatOf(l *Layup) Heat {
	s, lowest, middle := l.slab()
	h := Heat{LagS: s.Lag(lowest), SoakS: s.Rise(lowest, 0.9)}
	if middle != lowest {
		h.LagS, h.SoakS = max(h.LagS, s.Lag(middle)), max(h.SoakS, s.Rise(middle, 0.9))
	}
	return h
}
