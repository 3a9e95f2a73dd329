package line

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

var noon = time.Date(2026, 10, 17, 12, 0, 0, 0, time.UTC)

func same(a, b sensor.Sample) bool {
	for _, q := range sensor.Quantities() {
		if x, y := q.Of(a), q.Of(b); x != y && (!math.IsNaN(x) || !math.IsNaN(y)) {
			return false
		}
	}
	return a.Time.Equal(b.Time) && a.Quality == b.Quality
}

func sampleOf(bag, ambient, glueline, air float64, q sensor.Quality) sensor.Sample {
	return sensor.Sample{Time: noon, Bag: bag, Ambient: ambient, GlueLine: glueline, Air: air, Humidity: sensor.Missing, Quality: q}
}

func TestParse(t *testing.T) {
	nan := sensor.Missing
	for _, c := range []struct {
		columns []string
		line    string
		want    sensor.Sample
	}{
		{nil, `{"bag_pa":16012.5,"glueline_c":12.31}`, sampleOf(16012.5, nan, 12.31, nan, 0)},
		{nil, ` {"bag_pa":16012.5, "air_c":null}` + "\r\n", sampleOf(16012.5, nan, nan, nan, 0)},
		{nil, `{"vacuum_pa":84000}`, sampleOf(17325, nan, nan, nan, sensor.Gauge)},
		{nil, `{"vacuum_pa":84000,"ambient_pa":100000}`, sampleOf(16000, 100000, nan, nan, sensor.Gauge)},
		{nil, `{"ambient_pa":100000,"bag_pa":16000}`, sampleOf(16000, 100000, nan, nan, 0)},
		{nil, `{"bag_pa":16012.5,"battery_v":3.1,"id":"deck","ok":true}`, sampleOf(16012.5, nan, nan, nan, 0)},
		{[]string{"bag_pa", "glueline_c"}, "16012.5,12.31\n", sampleOf(16012.5, nan, 12.31, nan, 0)},
		{[]string{"bag_pa", "glueline_c"}, "16012.5, ", sampleOf(16012.5, nan, nan, nan, 0)},
		{[]string{"air_c"}, "-3.5", sampleOf(nan, nan, nan, -3.5, 0)},
		{[]string{"humidity_pct"}, "78.5", sensor.Humidity.With(sensor.Blank(noon), 78.5)},
	} {
		p, err := New(c.columns)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := p.Parse(noon, []byte(c.line)); err != nil || !same(got, c.want) {
			t.Errorf("%q: got %+v, %v\nwant %+v", c.line, got, err, c.want)
		}
	}
}

func TestErrors(t *testing.T) {
	for _, c := range []struct {
		columns    []string
		line, want string
	}{
		{nil, "", "no JSON object"},
		{nil, "hello", "no JSON object"},
		{nil, "{}", "no reading in it"},
		{nil, "null", "no reading in it"},
		{nil, `{"bag_pa":"16000"}`, `bag_pa is "16000", which is not a number`},
		{nil, `{"pressure":16}`, `key "pressure" is not known: there are bag_pa,`},
		{nil, `{"bag_kpa":16}`, `key "bag_kpa" is not known: did you mean bag_pa?`},
		{nil, `{"bag_pa":16000,"Glueline_c":12}`, "did you mean glueline_c?"},
		{nil, `{"bag_pa":1}{"bag_pa":2}`, "more than one JSON object"},
		{nil, `{"bag_pa":1,"vacuum_pa":2}`, "give the one that is measured"},
		{nil, `{"bag_pa":` + strings.Repeat("1", 400) + `}`, "…"},
		{[]string{"bag_pa"}, "1,2", "2 cells for the 1 columns bag_pa"},
		{[]string{"bag_pa"}, "warm", `bag_pa is "warm", which is not a number`},
		{[]string{"bag_pa"}, "nan", "not a number"},
		{[]string{"bag_pa", "air_c"}, ",", "no reading in it"},
	} {
		p, err := New(c.columns)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := p.Parse(noon, []byte(c.line)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v does not say %q", c.line, err, c.want)
		}
	}
}

func TestColumns(t *testing.T) {
	for _, columns := range [][]string{{"time"}, {"bag_pa", "bag_pa"}, {"bag_pa", "vacuum_pa"}} {
		if _, err := New(columns); err == nil {
			t.Errorf("%v was accepted", columns)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{`{"bag_pa":16012.5,"glueline_c":12.31}`, `{"vacuum_pa":1e5,"ambient_pa":null}`, "16012.5,12.31", ",", "null", `{"bag_pa":1}x`} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, columns := range [][]string{nil, {"bag_pa", "glueline_c"}} {
			p, err := New(columns)
			if err != nil {
				t.Fatal(err)
			}
			s, err := p.Parse(noon, []byte(text))
			if err != nil {
				continue
			}
			some := false
			for _, q := range sensor.Quantities() {
				some = some || s.Knows(q)
				if math.IsInf(q.Of(s), 0) {
					t.Errorf("%q: %s is %v", text, q, q.Of(s))
				}
			}
			if !some || (columns == nil && !json.Valid([]byte(text))) {
				t.Errorf("%q was read as %+v", text, s)
			}
		}
	})
}
