package export

import (
	"math"
	"strconv"

	"github.com/nightclamp/nightclamp/press/record"
)

const stamp = "2006-01-02T15:04:05.000Z"

// Columns are those of samples.csv, in order.
func Columns() []string {
	list := []string{"time", "first", "last", "samples", "quality", "boot", "mono_s"}
	for _, q := range []struct{ name, unit string }{
		{"bag", "pa"}, {"ambient", "pa"}, {"vacuum", "pa"}, {"glueline", "c"}, {"air", "c"}, {"humidity", "pct"},
	} {
		for _, what := range []string{"min", "mean", "max"} {
			list = append(list, q.name+"_"+what+"_"+q.unit)
		}
	}
	return list
}

// boots lists the boots of the machine during the run, in order of appearance.
func (t *told) boots() []string {
	var list []string
	seen := map[string]bool{"": true}
	for _, row := range t.rows {
		if !seen[row.Boot] {
			seen[row.Boot] = true
			list = append(list, row.Boot)
		}
	}
	return list
}

func (t *told) csv() []byte {
	var b []byte
	for i, name := range Columns() {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, name...)
	}
	number := map[string]int{}
	for i, boot := range t.boots() {
		number[boot] = i + 1
	}
	for _, row := range t.rows {
		b = appendRow(append(b, '\n'), row, number[row.Boot])
	}
	return append(b, '\n')
}

func appendRow(b []byte, row record.Thin, boot int) []byte {
	b = row.Mean.UTC().AppendFormat(b, stamp)
	b = row.First.UTC().AppendFormat(append(b, ','), stamp)
	b = row.Last.UTC().AppendFormat(append(b, ','), stamp)
	b = strconv.AppendInt(append(b, ','), int64(row.Count), 10)
	b = strconv.AppendInt(append(b, ','), int64(row.Quality), 10)
	b = append(b, ',')
	if boot > 0 {
		b = strconv.AppendInt(b, int64(boot), 10)
		b = strconv.AppendFloat(append(b, ','), row.Mono.Seconds(), 'f', 3, 64)
	} else {
		b = append(b, ',')
	}
	for _, e := range []record.Extent{row.Bag, row.Ambient, row.Vacuum} {
		b = appendExtent(b, e, 1)
	}
	for _, e := range []record.Extent{row.GlueLine, row.Air} {
		b = appendExtent(b, e, 3)
	}
	return appendExtent(b, row.Humidity, 1)
}

func appendExtent(b []byte, e record.Extent, decimals int) []byte {
	for _, v := range [3]float64{e.Min, e.Mean, e.Max} {
		b = append(b, ',')
		if !math.IsNaN(v) {
			b = strconv.AppendFloat(b, v, 'f', decimals, 64)
		}
	}
	return b
}
