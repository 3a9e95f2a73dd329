package cure

import (
	"slices"
)

// row is one line of a table before it has its unit.
type row struct {
	at float64
	v  [2]float64
}

func (c *checker) hours(key string, in []hoursRow) []Point {
	rows := make([]rawRow, len(in))
	for i, r := range in {
		rows[i] = rawRow{r.AtC, r.Hours}
	}
	checked := c.rows(key, "hours", rows, 1e-3, 24*60)
	out := make([]Point, len(checked))
	for i, r := range checked {
		out[i] = Point{AtC: r.at, Hours: r.v}
	}
	return out
}

func (c *checker) minutes(key string, in []minuteRow) []Limit {
	rows := make([]rawRow, len(in))
	for i, r := range in {
		rows[i] = rawRow{r.AtC, r.Minutes}
	}
	checked := c.rows(key, "minutes", rows, 0, 24*60)
	out := make([]Limit, len(checked))
	for i, r := range checked {
		out[i] = Limit{AtC: r.at, Minutes: r.v}
	}
	return out
}

type rawRow struct {
	at *float64
	v  any
}

// rows checks a table: each row complete and in range, no temperature twice,
// and no time that grows with warmth. It returns them warmest last.
func (c *checker) rows(key, unit string, in []rawRow, least, most float64) []row {
	var out []row
	for i, r := range in {
		if one, ok := c.row(key, unit, i+1, r, least, most); ok {
			out = append(out, one)
		}
	}
	slices.SortFunc(out, func(a, b row) int {
		switch {
		case a.at < b.at:
			return -1
		case a.at > b.at:
			return 1
		}
		return 0
	})
	for i := 1; i < len(out); i++ {
		a, b := out[i-1], out[i]
		if a.at == b.at {
			c.fault(key, "%g °C is there twice; keep one row", b.at)
		} else if b.v[0] > a.v[0] || b.v[1] > a.v[1] {
			c.fault(key, "the time grows from %g °C to %g °C; no glue slows down with warmth, check the two rows", a.at, b.at)
		}
	}
	return out
}

func (c *checker) row(key, unit string, n int, r rawRow, least, most float64) (row, bool) {
	if r.at == nil {
		c.fault(key, "row %d has no at_c; write { at_c = 20, %s = … }", n, unit)
		return row{}, false
	}
	if !(*r.at >= -20 && *r.at <= 150) {
		c.fault(key, "row %d: at_c = %g is outside -20 to 150 °C; is it in °F?", n, *r.at)
		return row{}, false
	}
	if r.v == nil {
		c.fault(key, "row %d (%g °C) has no %s; write { at_c = %g, %s = … }", n, *r.at, unit, *r.at, unit)
		return row{}, false
	}
	v, err := pair(r.v)
	if err != nil {
		c.fault(key, "row %d (%g °C): %s %v", n, *r.at, unit, err)
		return row{}, false
	}
	if v[0] < least || v[1] > most {
		c.fault(key, "row %d (%g °C): %s %g to %g is outside %g to %g; check the unit", n, *r.at, unit, v[0], v[1], least, most)
		return row{}, false
	}
	return row{*r.at, v}, true
}
