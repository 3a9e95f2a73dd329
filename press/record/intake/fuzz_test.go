package intake

import (
	"math"
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/press/record/export"
)

// Whatever is in record.json, it ends with a run of its own or with an error.
func FuzzParse(f *testing.F) {
	f.Add(`{"schema":1,"run":{"id":"a"},"samples":{"rows":1,"boots":["x"]}}`)
	f.Add(`{"schema":1,"run":{"id":"a","floor_pa":null},"events":[{"kind":"gap","run":"a","from":"2026-10-17T18:40:05Z"}],"final":{"a":[1]}}`)
	f.Add(`{"schema":1,"run":{"id":"a","area_m2":1e999}}`)
	f.Add(`{"schema":2}`)
	f.Fuzz(func(t *testing.T, text string) {
		whole, _, err := parse([]byte(text))
		if err != nil {
			return
		}
		if whole.Run.ID == "" || math.IsInf(whole.Run.FloorPa, 0) {
			t.Errorf("taken: %+v", whole.Run)
		}
		for _, e := range whole.Events {
			if e.Run != whole.Run.ID {
				t.Errorf("an event of run %q", e.Run)
			}
		}
	})
}

// Whatever is in samples.csv, each row that is taken makes sense, and an error
// comes last and names the file.
func FuzzRows(f *testing.F) {
	header := strings.Join(export.Columns(), ",") + "\n"
	f.Add(header + "2026-10-17T18:40:05.000Z,2026-10-17T18:40:00.000Z,2026-10-17T18:40:10.000Z,10,0,1,3.5,1,2,3,1,2,3,1,2,3,,,,-4.000,-3.000,1.5\n")
	f.Add(header + "2026-10-17T18:40:05.000Z,2026-10-17T18:40:00.000Z,2026-10-17T18:40:10.000Z,10,0,,,NaN,2,3,1,2,3,1,2,3,,,,-4.000,-3.000,1.5\n")
	f.Add(header)
	f.Add("\"")
	f.Fuzz(func(t *testing.T, table string) {
		var failed error
		for row, err := range rows(strings.NewReader(table), "samples.csv", export.Samples{Rows: 1, Boots: []string{"x"}}) {
			if failed != nil {
				t.Fatal("rows go on after an error")
			}
			if failed = err; err != nil {
				continue
			}
			if row.Count < 1 || row.Last.Before(row.First) || row.Bag.Min > row.Bag.Max || math.IsInf(row.Air.Mean, 0) {
				t.Errorf("taken: %+v", row)
			}
		}
		if failed != nil && !strings.HasPrefix(failed.Error(), "samples.csv: ") {
			t.Errorf("the error does not name the file: %v", failed)
		}
	})
}
