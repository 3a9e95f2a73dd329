package cure

import (
	"fmt"
	"math"
)

// CurvePoint is the press time at one temperature.
type CurvePoint struct {
	C        float64 `json:"at_c"`
	Flat     Band    `json:"flat_s"`     // s
	Strained Band    `json:"strained_s"` // s
	InTable  bool    `json:"in_table"`   // between the sheet's own rows, not carried on from them
}

// Curve is the press time from the minimum to the maximum use temperature, in n
// even steps, n at least 2.
func (s *Sheet) Curve(n int) []CurvePoint {
	n = max(n, 2)
	out := make([]CurvePoint, n)
	low, high := s.MinUseC, s.maxUse()
	for i := range out {
		c := low + (high-low)*float64(i)/float64(n-1)
		out[i] = CurvePoint{
			C: c, Flat: s.PressTimeAt(c, Options{}), Strained: s.PressTimeAt(c, Options{Strained: true}),
			InTable: len(s.PressTime) > 0 && c >= s.PressTime[0].AtC && c <= s.PressTime[len(s.PressTime)-1].AtC,
		}
	}
	return out
}

// Explain says in sentences what nightclamp does with a sheet.
func (s *Sheet) Explain() []string {
	out := []string{fmt.Sprintf("Press time counts from pressure reached, at the glue line's temperature, from %g °C up.", s.MinUseC)}
	if s.BelowMin == Lost {
		out = append(out, fmt.Sprintf("Below %g °C while wet the film is spoiled: after %.3g minutes in all the run is called lost, and later warmth does not mend it.", s.MinUseC, s.GraceTime().Minutes()))
	} else {
		out = append(out, fmt.Sprintf("Below %g °C it waits and earns nothing.", s.MinUseC))
	}
	low, high := s.activation()
	switch first, last := s.PressTime[0], s.PressTime[len(s.PressTime)-1]; {
	case len(s.PressTime) == 1:
		out = append(out, fmt.Sprintf("The sheet has one row, at %g °C; everywhere else %g to %g kJ/mol carry on from it.", first.AtC, low/1000, high/1000))
	default:
		out = append(out, fmt.Sprintf("Between its %d rows (%g to %g °C) ln(time) runs straight in 1/T; outside them %g to %g kJ/mol carry on, and the two give the bounds.", len(s.PressTime), first.AtC, last.AtC, low/1000, high/1000))
	}
	out = append(out, fmt.Sprintf("Above %g °C no shorter time is promised.", s.maxUse()))
	if f := s.strained(); f > 1 {
		out = append(out, fmt.Sprintf("Bent work that is unloaded soon after takes %g times as long.", f))
	}
	if s.StopsShortC != 0 && !math.IsNaN(s.StopsShortC) {
		out = append(out, fmt.Sprintf("Below %g °C it stalls short of full cure; nightclamp says so beside the time.", s.StopsShortC))
	}
	if s.Glass != nil {
		out = append(out, fmt.Sprintf("Held at %g °C it stalls at about %.0f %% of full cure, at %g °C at %.0f %% (glass transition after DiBenedetto).",
			s.MinUseC, 100*s.Glass.StallsAt(s.MinUseC), s.MinUseC+10, 100*s.Glass.StallsAt(s.MinUseC+10)))
	}
	if s.Gas {
		out = append(out, "It gives off gas: the leak estimate allows for it.")
	}
	if len(s.OpenAssembly)+len(s.ClosedAssembly) == 0 {
		out = append(out, "It gives no assembly time: nothing counts down before pressure.")
	}
	for _, a := range s.Assumed {
		out = append(out, "Not in the file, taken by default: "+a+".")
	}
	return out
}

// Doubts says in sentences what in a valid sheet deserves a second look.
func (s *Sheet) Doubts() []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	first := s.PressTime[0]
	if first.AtC < s.MinUseC {
		say("The row at %g °C lies below min_use_c = %g: it only shapes the line, nothing is earned there.", first.AtC, s.MinUseC)
	}
	if first.AtC > s.MinUseC+3 {
		b := s.PressTimeAt(s.MinUseC, Options{})
		say("The coldest row is at %g °C; down to %g °C the time is extrapolated, to %.3g to %.3g h. Real tables are worse in the cold than that: add the maker's row.", first.AtC, s.MinUseC, b.Low/3600, b.High/3600)
	}
	if s.Family == Polyurethane && !s.Gas {
		say("A one-part polyurethane gives off gas; without gas = true its first hours look like a leak.")
	}
	if s.Family == PVA && s.strained() < 3 {
		say("Bent work in PVA is usually left 12 to 24 h; strained_factor = %g gives %.3g h at 20 °C.", s.strained(), s.PressTimeAt(math.Max(20, s.MinUseC), Options{Strained: true}).Expected/3600)
	}
	if s.Source == notGiven {
		say("It does not say where its numbers are from: write the maker's document and its date into source.")
	}
	if len(s.Cautions) == 0 {
		say("It has no cautions: copy those of the maker's safety data sheet.")
	}
	return out
}
