package intake

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/export"
	"github.com/nightclamp/nightclamp/sensor"
)

// rows reads samples.csv as a stream. Errors name the file, the line and the
// column.
func rows(in io.Reader, name string, about export.Samples) iter.Seq2[record.Thin, error] {
	return func(yield func(record.Thin, error) bool) {
		r := csv.NewReader(in)
		r.ReuseRecord = true
		cells, err := r.Read()
		if err == nil {
			err = checkHeader(cells)
		}
		count := 0
		for err == nil {
			if cells, err = r.Read(); err != nil {
				break
			}
			line, _ := r.FieldPos(0)
			var row record.Thin
			if row, err = parseRow(cells, about.Boots); err != nil {
				err = fmt.Errorf("line %d: %w", line, err)
				break
			}
			count++
			if !yield(row, nil) {
				return
			}
		}
		if errors.Is(err, io.EOF) && count != about.Rows {
			err = fmt.Errorf("%d rows, record.json says %d: the file was cut off or belongs to another record", count, about.Rows)
		}
		if !errors.Is(err, io.EOF) {
			yield(record.Thin{}, fmt.Errorf("%s: %w", name, err))
		}
	}
}

func checkHeader(cells []string) error {
	want := export.Columns()
	if len(cells) == len(want)-3 { // written before humidity was kept
		want = want[:len(cells)]
	}
	if strings.Join(cells, ",") != strings.Join(want, ",") {
		return fmt.Errorf("line 1: the columns are %q, wanted %q", strings.Join(cells, ","), strings.Join(want, ","))
	}
	return nil
}

func parseRow(cells []string, boots []string) (record.Thin, error) {
	p := parser{cells: cells, names: export.Columns()}
	t := record.Thin{Mean: p.moment(0), First: p.moment(1), Last: p.moment(2)}
	t.Count = int(p.whole(3, 1, math.MaxInt32))
	t.Quality = sensor.Quality(p.whole(4, 0, math.MaxUint16)) //nolint:gosec // the range was checked
	if cells[5] != "" {
		if n := p.whole(5, 1, int64(len(boots))); p.err == nil {
			t.Boot = boots[n-1]
		}
		t.Mono = time.Duration(math.Round(p.number(6, 1e12)*1000)) * time.Millisecond
	}
	t.Humidity = record.Extent{Min: math.NaN(), Mean: math.NaN(), Max: math.NaN()}
	for i, e := range []*record.Extent{&t.Bag, &t.Ambient, &t.Vacuum, &t.GlueLine, &t.Air, &t.Humidity} {
		if column := 7 + 3*i; column < len(cells) {
			*e = p.extent(column)
		}
	}
	if p.err == nil && (t.Mean.Before(t.First) || t.Last.Before(t.Mean)) {
		return t, fmt.Errorf("time %s is not within first %s and last %s", cells[0], cells[1], cells[2])
	}
	return t, p.err
}

// parser reads cells and remembers the first that is wrong.
type parser struct {
	cells, names []string
	err          error
}

func (p *parser) fail(column int, wanted string) {
	if p.err == nil {
		p.err = fmt.Errorf("column %s: %q is not %s", p.names[column], p.cells[column], wanted)
	}
}

func (p *parser) moment(column int) time.Time {
	t, err := time.Parse(time.RFC3339, p.cells[column])
	if err != nil || t.Year() < 1970 || t.Year() > 9999 {
		p.fail(column, "a time as 2026-10-17T18:40:00.000Z")
	}
	return t.UTC()
}

func (p *parser) whole(column int, low, high int64) int64 {
	n, err := strconv.ParseInt(p.cells[column], 10, 64)
	if err != nil || n < low || n > high {
		p.fail(column, fmt.Sprintf("a whole number from %d to %d", low, high))
	}
	return n
}

func (p *parser) number(column int, most float64) float64 {
	v, err := strconv.ParseFloat(p.cells[column], 64)
	if err != nil || !(math.Abs(v) <= most) {
		p.fail(column, fmt.Sprintf("a number within ±%g", most))
	}
	return v
}

func (p *parser) extent(column int) record.Extent {
	if p.cells[column] == "" && p.cells[column+1] == "" && p.cells[column+2] == "" {
		return record.Extent{Min: math.NaN(), Mean: math.NaN(), Max: math.NaN()}
	}
	const most = 1e9
	e := record.Extent{Min: p.number(column, most), Mean: p.number(column+1, most), Max: p.number(column+2, most)}
	if p.err == nil && (e.Min > e.Mean || e.Mean > e.Max) {
		p.fail(column+1, "between the lowest and the highest")
	}
	return e
}
