package leak

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// recorded reads a series in the format of replay.
func recorded(t testing.TB, name string) []Reading {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", "replay", name+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var all []Reading
	for _, row := range rows[1:] {
		r := Reading{Ambient: 101325, Gas: missing, Air: missing}
		for i, cell := range row {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			switch rows[0][i] {
			case "time":
				r.T = v
			case "bag_pa":
				r.Bag = v
			case "ambient_pa":
				r.Ambient = v
			case "glueline_c":
				r.Gas = v
			}
		}
		all = append(all, r)
	}
	return all
}

// A sealed hull under rough vacuum holds for days, though its temperature and
// a ballast that changes its volume move the pressure by kilopascals an hour.
func TestSealedHullIsSilent(t *testing.T) {
	for _, name := range []string{"hull-10", "hull-12"} {
		e := New(Config{})
		for _, r := range recorded(t, name) {
			e.Add(r)
			if got := e.Estimate(); got.Leaking {
				t.Errorf("%s: a leak at %.0f s: %+v", name, r.T, got)
				break
			}
		}
		t.Logf("%s %+v", name, e.Estimate())
	}
}

// The chambers leak from hardly at all to burst within seconds; see the README
// beside them for how they are mirrored.
var chambers = []string{"aluminium", "formlabs", "ultimaker-006", "prusa", "ultimaker-010", "ultimaker-015", "ultimaker-020"}

func TestChamberDecaysRank(t *testing.T) {
	last := 0.0
	for _, name := range chambers {
		e := New(Config{})
		all := recorded(t, "chamber-"+name)
		for _, r := range all {
			e.Add(r)
		}
		got := e.Estimate()
		if !got.Known || got.Rate <= last {
			t.Errorf("%s leaks no more than the one before it (%.0f Pa/h): %+v", name, last, got)
		}
		last = got.Rate
	}
}
