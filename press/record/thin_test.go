package record_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
)

// readings makes n samples a tenth of a second apart, with noise and a spike.
func readings(n int) []sensor.Sample {
	random := rand.New(rand.NewPCG(1, 2)) //nolint:gosec // a test wants the same noise every time
	samples := make([]sensor.Sample, n)
	for i := range samples {
		since := time.Duration(i) * 100 * time.Millisecond
		samples[i] = sensor.Sample{
			Time: evening().Add(since), Mono: time.Hour + since, Boot: "boot-a",
			Bag: 16000 + 0.01*float64(i) + 10*random.NormFloat64(), Ambient: 101325 + random.NormFloat64(),
			GlueLine: 12 - 0.0001*float64(i), Air: 9 + 0.1*random.NormFloat64(),
		}
	}
	samples[n/2].Bag += 5000
	return samples
}

func feed(t *testing.T, s *record.Store, run string, samples []sensor.Sample) {
	t.Helper()
	for _, sample := range samples {
		must(t, s.AddSample(t.Context(), run, sample))
	}
}

func thinned(t *testing.T, s *record.Store, run string, from, to time.Time, most int) []record.Thin {
	t.Helper()
	var rows []record.Thin
	for row, err := range s.Thinned(t.Context(), run, from, to, most) {
		must(t, err)
		rows = append(rows, row)
	}
	return rows
}

// extentOf works out what a bucket must hold, the plain way.
func extentOf(samples []sensor.Sample, of func(sensor.Sample) float64) record.Extent {
	e := record.Extent{Min: math.Inf(1), Max: math.Inf(-1)}
	for _, s := range samples {
		v := of(s)
		e.Min, e.Max = math.Min(e.Min, v), math.Max(e.Max, v)
		e.Mean += v / float64(len(samples))
	}
	return e
}

func near(a, b record.Extent, tolerance float64) bool {
	return math.Abs(a.Min-b.Min) <= tolerance && math.Abs(a.Mean-b.Mean) <= tolerance && math.Abs(a.Max-b.Max) <= tolerance
}

func TestBucketsHoldLowestMeanAndHighest(t *testing.T) {
	s, path := fresh(t)
	must(t, s.PutRun(t.Context(), deck()))
	samples := readings(1234)
	feed(t, s, deck().ID, samples)

	inMemoryToo := thinned(t, s, deck().ID, time.Time{}, time.Time{}, 0)
	must(t, s.Close())
	fromDisk := thinned(t, open(t, path), deck().ID, time.Time{}, time.Time{}, 0)
	for name, rows := range map[string][]record.Thin{"in memory": inMemoryToo, "from disk": fromDisk} {
		if len(rows) != 13 {
			t.Fatalf("%s: %d buckets, want 13", name, len(rows))
		}
		for i, row := range rows {
			of := samples[i*100 : min(len(samples), i*100+100)]
			last := of[len(of)-1]
			if row.Count != len(of) || !row.First.Equal(of[0].Time) || !row.Last.Equal(last.Time) ||
				row.Boot != "boot-a" || row.Mono != last.Mono {
				t.Errorf("%s: bucket %d: %+v", name, i, row)
			}
			mid := of[0].Time.Add(last.Time.Sub(of[0].Time) / 2)
			if d := row.Mean.Sub(mid); d.Abs() > time.Millisecond {
				t.Errorf("%s: bucket %d: mean time off by %v", name, i, d)
			}
			// Half a step of the table is lost: 0.05 Pa, 0.0005 K.
			if !near(row.Bag, extentOf(of, func(s sensor.Sample) float64 { return s.Bag }), 0.0501) ||
				!near(row.Ambient, extentOf(of, func(s sensor.Sample) float64 { return s.Ambient }), 0.0501) ||
				!near(row.Vacuum, extentOf(of, sensor.Sample.Vacuum), 0.0501) ||
				!near(row.GlueLine, extentOf(of, func(s sensor.Sample) float64 { return s.GlueLine }), 0.000501) ||
				!near(row.Air, extentOf(of, func(s sensor.Sample) float64 { return s.Air }), 0.000501) {
				t.Errorf("%s: bucket %d: %+v", name, i, row)
			}
		}
	}
	sample := fromDisk[3].Sample()
	if want := samples[300].Mono + sample.Time.Sub(samples[300].Time); sample.Mono != want || sample.Bag != fromDisk[3].Bag.Mean {
		t.Errorf("sample of a bucket: %+v, want mono %v", sample, want)
	}
}

func TestWhatIsMissingStaysMissing(t *testing.T) {
	s, path := fresh(t)
	must(t, s.PutRun(t.Context(), deck()))
	blank := sensor.Blank(evening())
	blank.Quality = sensor.BagSilent
	half := blank
	half.Time, half.Bag, half.Air, half.Quality = evening().Add(time.Second), math.Inf(1), 4.5, sensor.Gauge
	feed(t, s, deck().ID, []sensor.Sample{blank, half})
	must(t, s.Close())
	row := thinned(t, open(t, path), deck().ID, time.Time{}, time.Time{}, 0)[0]
	if !math.IsNaN(row.Bag.Mean) || !math.IsNaN(row.Vacuum.Min) || !math.IsNaN(row.GlueLine.Max) {
		t.Errorf("missing quantities: %+v", row)
	}
	if row.Air != (record.Extent{Min: 4.5, Mean: 4.5, Max: 4.5}) || row.Boot != "" || row.Count != 2 {
		t.Errorf("air: %+v", row)
	}
	if row.Quality != sensor.BagSilent|sensor.Gauge {
		t.Errorf("quality %b", row.Quality)
	}
}

func TestBucketEndsWithBootAndClockStep(t *testing.T) {
	s, _ := fresh(t)
	must(t, s.PutRun(t.Context(), deck()))
	samples := readings(6)
	samples[2].Boot, samples[3].Boot = "boot-b", "boot-b"
	samples[2].Mono, samples[3].Mono = time.Second, time.Second+100*time.Millisecond
	for i := 4; i < 6; i++ { // the wall clock goes back by three seconds, unannounced
		samples[i].Boot, samples[i].Mono = "boot-b", time.Second+time.Duration(i-2)*100*time.Millisecond
		samples[i].Time = samples[i].Time.Add(-3 * time.Second)
	}
	feed(t, s, deck().ID, samples)
	rows := thinned(t, s, deck().ID, time.Time{}, time.Time{}, 0)
	if len(rows) != 3 {
		t.Fatalf("%d buckets, want 3: %+v", len(rows), rows)
	}
	for i, row := range rows {
		if row.Count != 2 || !row.First.Equal(samples[2*i].Time) {
			t.Errorf("bucket %d: %+v", i, row)
		}
	}
}

func TestPartialBucketIsNeverCountedTwice(t *testing.T) {
	s, path := fresh(t)
	must(t, s.PutRun(t.Context(), deck()))
	samples := readings(450)
	for i, sample := range samples {
		must(t, s.AddSample(t.Context(), deck().ID, sample))
		if i%70 == 0 {
			must(t, s.Flush(t.Context())) // in the middle of a bucket
		}
		if i%130 == 0 {
			must(t, s.Close())
			s = open(t, path)
		}
	}
	must(t, s.Close())
	var counted int
	var last time.Time
	for _, row := range thinned(t, open(t, path), deck().ID, time.Time{}, time.Time{}, 0) {
		counted += row.Count
		if !row.First.After(last) {
			t.Errorf("bucket from %v begins before the one before ended, %v", row.First, last)
		}
		last = row.Last
	}
	if counted != len(samples) {
		t.Errorf("%d samples counted, want %d", counted, len(samples))
	}
}

func TestThinningFurtherKeepsExtremesAndHoles(t *testing.T) {
	s, _ := fresh(t)
	must(t, s.PutRun(t.Context(), deck()))
	samples := readings(36000)
	samples = append(samples[:9000:9000], samples[18000:]...) // a quarter of an hour is missing
	feed(t, s, deck().ID, samples)
	full := thinned(t, s, deck().ID, time.Time{}, time.Time{}, 0)
	rows := thinned(t, s, deck().ID, time.Time{}, time.Time{}, 40)
	if len(rows) > 40 || len(rows) < 28 {
		t.Errorf("%d points, want at most 40 less the hole", len(rows))
	}
	var count int
	all := rows[0].Bag
	for i, row := range rows {
		count += row.Count
		all.Min, all.Max = math.Min(all.Min, row.Bag.Min), math.Max(all.Max, row.Bag.Max)
		if row.Bag.Mean < row.Bag.Min || row.Bag.Mean > row.Bag.Max || row.Last.Sub(row.First) > 2*time.Minute {
			t.Errorf("point %d: %+v", i, row)
		}
	}
	want := full[0].Bag
	for _, row := range full {
		want.Min, want.Max = math.Min(want.Min, row.Bag.Min), math.Max(want.Max, row.Bag.Max)
	}
	if count != len(samples) || all.Min != want.Min || all.Max != want.Max {
		t.Errorf("%d samples, %v to %v; want %d, %v to %v", count, all.Min, all.Max, len(samples), want.Min, want.Max)
	}

	from, to := evening().Add(30*time.Minute), evening().Add(31*time.Minute)
	part := thinned(t, s, deck().ID, from, to, 0)
	if len(part) != 7 || part[0].First.Before(from) || part[6].First.After(to) {
		t.Errorf("a minute: %d buckets from %v", len(part), part[0].First)
	}
	for range s.Thinned(t.Context(), deck().ID, from, to, 3) {
		break // must not leave anything locked
	}
	newest, err := s.Newest(t.Context(), deck().ID)
	must(t, err)
	if !newest.Last.Equal(samples[len(samples)-1].Time) {
		t.Errorf("newest %v", newest.Last)
	}
	if _, err := s.Newest(t.Context(), "nobody"); !errors.Is(err, record.ErrNotFound) {
		t.Errorf("newest of nobody: %v", err)
	}
}
