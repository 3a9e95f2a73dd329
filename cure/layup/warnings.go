package layup

import (
	"fmt"
	"math"

	"github.com/nightclamp/nightclamp/cure"
)

// warnings are the sentences that a builder should read before the first glue.
func warnings(l *Layup, s *cure.Sheet, p *Plan) []string {
	w := []string{}
	say := func(format string, args ...any) { w = append(w, fmt.Sprintf(format, args...)) }
	warnMoisture(say, p)
	warnClamp(say, l, p)
	warnTemperature(say, s, p)
	for _, b := range p.Bends {
		warnBend(say, b)
	}
	if !balanced(l.Plies) {
		say("The stack is not the same from both faces to the middle: it will warp as it dries. Use an odd, symmetric lay-up.")
	}
	if p.Mix.GasM3 > 0 {
		say("The glue can give off up to %.0f litres of gas into the bag: for the first hours it looks like a leak.", p.Mix.GasM3*1000)
	}
	return w
}

type sayer func(format string, args ...any)

func warnMoisture(say sayer, p *Plan) {
	m := p.Moisture
	switch {
	case m.Wanted == [2]float64{}:
	case m.Start > m.Wanted[1]:
		say("The veneer is at %.0f %%; this glue wants %.0f to %.0f %%. Dry it first.", m.Start, m.Wanted[0], m.Wanted[1])
	case m.Start < m.Wanted[0]:
		say("The veneer is at %.0f %%; this glue wants %.0f to %.0f %%. Let it take up moisture first.", m.Start, m.Wanted[0], m.Wanted[1])
	}
	if m.InnerAfter > 20 {
		say("The inner plies go to %.0f %% moisture with the glue's water, and the bag keeps it in: expect a slow film and movement as it dries. Start drier or spread thinner.", m.InnerAfter)
	}
}

func warnClamp(say sayer, l *Layup, p *Plan) {
	c := p.Clamp
	if c.VacuumPa > c.MostPa {
		say("%.0f kPa of vacuum cannot be had at a room pressure of %.1f kPa: at %.1f kPa the water in the glue boils.", c.VacuumPa/kPa, c.AmbientPa/kPa, c.MostPa/kPa)
	}
	if l.Floor >= c.VacuumPa {
		say("The floor of %.0f kPa is not below the planned vacuum of %.0f kPa.", l.Floor/kPa, c.VacuumPa/kPa)
	}
	switch p.Mould.Verdict {
	case Creeps:
		say("The mould bears %.0f kPa for days and gets %.0f: it goes on yielding through the night and changes the shape. Take a stronger board or less vacuum.", p.Mould.LimitPa/kPa, c.VacuumPa/kPa)
	case Crushes:
		say("The mould's strength is %.0f kPa and it gets %.0f: it crushes. Take a stronger board.", p.Mould.StrengthPa/kPa, c.VacuumPa/kPa)
	}
}

func warnTemperature(say sayer, s *cure.Sheet, p *Plan) {
	for _, a := range p.At {
		if a.TooCold {
			say("At %g °C nothing is earned: this glue wants at least %g °C at the glue line%s.", a.C, s.MinUseC, lostWords(s))
		}
		if a.C > s.MaxUseC && s.MaxUseC > 0 {
			say("At %g °C the glue is above the %g °C that its sheet allows.", a.C, s.MaxUseC)
		}
		if a.StopsShort && !a.TooCold {
			say("At %g °C the glue stalls short of full cure however long it is pressed: warm the blank afterwards.", a.C)
		}
		if a.Used > 1 {
			say("At %g °C spreading takes %.0f %% of the assembly time: at most %.1f min a line, or a slower glue, or two people.", a.C, 100*a.Used, a.MostPerLineS/60)
		} else if a.ClosedS > 0 && a.MostPerLineS == 0 {
			say("At %g °C the way to pressure alone takes more than the closed assembly time.", a.C)
		}
	}
}

func lostWords(s *cure.Sheet) string {
	if s.BelowMin == cure.Lost {
		return fmt.Sprintf(", and %.0f minutes below it while wet spoil the film for good", s.GraceTime().Minutes())
	}
	return ""
}

func warnBend(say sayer, b BendPlan) {
	direction := "along"
	if b.Across {
		direction = "across"
	}
	if b.ShareOf > 0.5 {
		say("Bringing the loose plies down to the curve %s takes %.0f kPa, %.0f %% of the clamp: bend them before, or use thinner plies.", direction, b.SeatingPa/kPa, 100*b.ShareOf)
	}
	if b.TightestM > 0 && b.FormM < b.TightestM {
		say("A form of %.0f mm %s is tighter than the %.0f mm at which a dry ply breaks: use thinner plies, or wet or steam them.", b.FormM/mm, direction, b.TightestM/mm)
	}
	if b.Back > 0.2 {
		say("Springback %s is %.0f %%: more and thinner plies, or more of them in that direction, hold the curve better.", direction, 100*b.Back)
	}
}

func balanced(plies []Ply) bool {
	for i, j := 0, len(plies)-1; i < j; i, j = i+1, j-1 {
		a, b := plies[i], plies[j]
		if a.Across != b.Across || a.Wood.Name != b.Wood.Name || math.Abs(a.Thickness-b.Thickness) > 1e-6 {
			return false
		}
	}
	return true
}
