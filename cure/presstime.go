package cure

import "math"

const (
	gasConstant = 8.314462618 // J/(mol K), CODATA 2018
	zeroCelsius = 273.15      // K
)

// EquivalentRate is how much faster a reaction with the given activation energy
// (J/mol) goes at atC than at refC: exp(-E/R (1/T - 1/Tr)), the form of the
// equivalent age in ASTM C1074, after Freiesleben Hansen and Pedersen 1977.
func EquivalentRate(activation, atC, refC float64) float64 {
	return math.Exp(-activation / gasConstant * (1/(atC+zeroCelsius) - 1/(refC+zeroCelsius)))
}

// PressTimeAt is how long the sheet wants pressure at a constant glue-line
// temperature, s. Below the minimum use temperature it is +Inf; NaN gives NaN.
//
// Between two rows of the sheet ln(time) runs straight in 1/T. Outside them the
// activation band carries on from the nearest row. Above the maximum use
// temperature only Low grows shorter: nothing is promised from heat that the
// sheet does not allow.
func (s *Sheet) PressTimeAt(atC float64, o Options) Band {
	switch {
	case math.IsNaN(atC):
		return Exactly(math.NaN())
	case atC < s.MinUseC || len(s.PressTime) == 0:
		return Exactly(math.Inf(1))
	}
	return s.ungated(atC, s.factor(o))
}

// ungated is the press time without the gate at the minimum use temperature, s.
func (s *Sheet) ungated(atC, factor float64) Band {
	b := s.lnHours(s.PressTime, atC)
	if hottest := s.maxUse(); atC > hottest {
		capped := s.lnHours(s.PressTime, hottest)
		b.Expected, b.High = capped.Expected, capped.High
	}
	hour := 3600 * factor
	return Band{hour * math.Exp(b.Low), hour * math.Exp(b.Expected), hour * math.Exp(b.High)}
}

// lnHours is the logarithm of a table of hours at a temperature, with its bounds.
func (s *Sheet) lnHours(pts []Point, atC float64) Band {
	last := len(pts) - 1
	switch {
	case atC <= pts[0].AtC:
		return s.beyond(pts[0], atC)
	case atC >= pts[last].AtC:
		return s.beyond(pts[last], atC)
	}
	i := 1
	for pts[i].AtC < atC {
		i++
	}
	a, b := pts[i-1], pts[i]
	share := (inverse(atC) - inverse(a.AtC)) / (inverse(b.AtC) - inverse(a.AtC))
	la, lb := lnPoint(a), lnPoint(b)
	return Band{
		Low:      la.Low + share*(lb.Low-la.Low),
		Expected: la.Expected + share*(lb.Expected-la.Expected),
		High:     la.High + share*(lb.High-la.High),
	}
}

// beyond carries the activation band on from a row at the end of the table.
func (s *Sheet) beyond(p Point, atC float64) Band {
	low, high := s.activation()
	x := (inverse(atC) - inverse(p.AtC)) / gasConstant
	b := lnPoint(p)
	b.Expected += x * (low + high) / 2
	if x >= 0 { // colder: the higher activation energy takes longer
		b.Low += x * low
		b.High += x * high
		return b
	}
	b.Low += x * high
	b.High += x * low
	return b
}

// lnPoint is a row in logarithms; what is expected lies midway there.
func lnPoint(p Point) Band {
	lo, hi := math.Log(p.Hours[0]), math.Log(p.Hours[1])
	return Band{lo, (lo + hi) / 2, hi}
}

// FullCureAt is how long the glue takes to its service strength at a constant
// temperature, s; false when the sheet does not say. It is +Inf below the minimum
// use temperature, and where the glue stalls short of full cure.
func (s *Sheet) FullCureAt(atC float64) (Band, bool) {
	switch {
	case len(s.FullCure) == 0 || math.IsNaN(atC):
		return Exactly(math.NaN()), false
	case atC < s.MinUseC || s.StopsShort(atC):
		return Exactly(math.Inf(1)), true
	}
	b := s.lnHours(s.FullCure, math.Min(atC, s.maxUse()))
	return Band{3600 * math.Exp(b.Low), 3600 * math.Exp(b.Expected), 3600 * math.Exp(b.High)}, true
}

func inverse(c float64) float64 { return 1 / (c + zeroCelsius) }
