package cure

// rates is 1/press_time over temperature, 1/s, tabulated so that a sample costs
// no exponential. Rates are straight lines between the rows of the table; at a
// sixteenth of a kelvin the curvature of an Arrhenius rate of 70 kJ/mol puts
// that within 5e-6 of the exact value.
type rates struct {
	at []Band // Low is the slowest
}

const (
	coldestRow = -40.0 // °C
	hottestRow = 90.0
	rowsPerK   = 16.0
)

func newRates(s *Sheet, o Options) rates {
	if len(s.PressTime) == 0 {
		return rates{}
	}
	factor := s.factor(o)
	table := make([]Band, int((hottestRow-coldestRow)*rowsPerK)+1)
	for i := range table {
		b := s.ungated(coldestRow+float64(i)/rowsPerK, factor)
		table[i] = Band{1 / b.High, 1 / b.Expected, 1 / b.Low}
	}
	return rates{at: table}
}

// rate is the ungated rate at c; outside the table that of its end, for NaN none.
func (r *rates) rate(c float64) Band {
	if len(r.at) == 0 || c != c { // a NaN has no rate
		return Band{}
	}
	x := (c - coldestRow) * rowsPerK
	if x <= 0 {
		return r.at[0]
	}
	i := int(x)
	if i >= len(r.at)-1 {
		return r.at[len(r.at)-1]
	}
	f := x - float64(i)
	a, b := &r.at[i], &r.at[i+1]
	return Band{a.Low + f*(b.Low-a.Low), a.Expected + f*(b.Expected-a.Expected), a.High + f*(b.High-a.High)}
}
