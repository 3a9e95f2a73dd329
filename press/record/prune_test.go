package record_test

import (
	"math"
	"os"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press/record"
)

// What is thinned further keeps its extremes, its holes and its boots, and is done
// once; what is young, or among the newest, is left alone.
func TestPrune(t *testing.T) {
	s, path := fresh(t)
	run := deck()
	run.Ended = evening().Add(3 * time.Hour)
	must(t, s.PutRun(t.Context(), run))
	for i, sample := range readings(72000) {
		at := time.Duration(i) * 100 * time.Millisecond
		sample.Time, sample.Boot, sample.Mono, sample.Bag, sample.Ambient = evening().Add(at), "one", at, 16000, 101000
		switch {
		case i == 40000:
			sample.Bag = 55555
		case i > 50000 && i < 60000:
			continue
		case i >= 60000:
			sample.Boot = "two"
		}
		must(t, s.AddSample(t.Context(), run.ID, sample))
	}
	must(t, s.Flush(t.Context()))
	young := deck()
	young.ID, young.Started, young.Ended = "young", evening().Add(90*24*time.Hour), evening().Add(91*24*time.Hour)
	must(t, s.PutRun(t.Context(), young))
	must(t, s.AddSample(t.Context(), young.ID, readings(1)[0]))
	must(t, s.Flush(t.Context()))

	before := evening().Add(80 * 24 * time.Hour)
	for _, p := range []record.Pruning{{Before: before, DryRun: true}, {Before: before, Keep: 2}, {Before: evening()}, {Before: before, MaxBytes: 1 << 30}} {
		_, err := s.Prune(t.Context(), p)
		must(t, err)
		if n := len(rowsOf(t, s, run.ID)); n < 600 {
			t.Fatalf("%+v thinned to %d rows", p, n)
		}
	}
	fine := rowsOf(t, s, run.ID)
	used, err := s.Used(t.Context())
	must(t, err)
	list, err := s.Prune(t.Context(), record.Pruning{Before: before})
	must(t, err)
	if len(list) != 1 || list[0].Run != run.ID || list[0].Rows != len(fine) || list[0].After > len(fine)/5 {
		t.Fatalf("%+v of %d rows", list, len(fine))
	}
	check(t, fine, rowsOf(t, s, run.ID))
	if now, err := s.Used(t.Context()); err != nil || now >= used {
		t.Errorf("%d bytes are used, before it was %d (%v)", now, used, err)
	}
	if again, err := s.Prune(t.Context(), record.Pruning{Before: before}); err != nil || len(again) != 0 {
		t.Errorf("thinned again: %+v, %v", again, err)
	}
	if got, err := s.Run(t.Context(), run.ID); err != nil || !got.Thinned {
		t.Errorf("it is not marked: %v", err)
	}
	size, err := os.Stat(path)
	must(t, err)
	must(t, s.Compact(t.Context()))
	if small, err := os.Stat(path); err != nil || small.Size() >= size.Size() {
		t.Errorf("compacted from %d to %d bytes (%v)", size.Size(), small.Size(), err)
	}
}

func rowsOf(t *testing.T, s *record.Store, run string) []record.Thin {
	t.Helper()
	var rows []record.Thin
	for row, err := range s.Thinned(t.Context(), run, time.Time{}, time.Time{}, 0) {
		must(t, err)
		rows = append(rows, row)
	}
	return rows
}

func check(t *testing.T, fine, coarse []record.Thin) {
	t.Helper()
	count := func(rows []record.Thin) (n int, highest float64, hole time.Duration) {
		for i, r := range rows {
			n, highest = n+r.Count, math.Max(highest, r.Bag.Max)
			if i > 0 {
				hole = max(hole, r.First.Sub(rows[i-1].Last))
			}
		}
		return n, highest, hole
	}
	n, highest, hole := count(fine)
	gotN, gotHighest, gotHole := count(coarse)
	if gotN != n || gotHighest != highest || gotHole != hole || highest != 55555 || hole < 16*time.Minute {
		t.Errorf("samples %d, want %d; highest %v, want %v; hole %v, want %v", gotN, n, gotHighest, highest, gotHole, hole)
	}
	if coarse[len(coarse)-1].Boot != "two" || coarse[0].Boot != "one" {
		t.Error("the boots are mixed up")
	}
}
