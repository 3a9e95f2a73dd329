package record_test

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press/record"
)

// twoDays keeps a run of 48 hours, one sample a second.
func twoDays(b *testing.B) *record.Store {
	b.Helper()
	s, err := record.Open(b.Context(), filepath.Join(b.TempDir(), "r.db"), record.Options{Flush: 12 * time.Hour})
	if err != nil {
		b.Fatal(err)
	}
	if err := s.PutRun(b.Context(), deck()); err != nil {
		b.Fatal(err)
	}
	noise := readings(6000)
	for i := range 48 * 3600 {
		sample := noise[i%len(noise)]
		sample.Time, sample.Mono = evening().Add(time.Duration(i)*time.Second), time.Duration(i)*time.Second
		if err := s.AddSample(b.Context(), deck().ID, sample); err != nil {
			b.Fatal(err)
		}
	}
	if err := s.Flush(b.Context()); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { _ = s.Close() })
	return s
}

func BenchmarkReadTwoDays(b *testing.B)      { benchmarkRead(b, 0) }
func BenchmarkReadTwoDaysIn600(b *testing.B) { benchmarkRead(b, 600) }

func benchmarkRead(b *testing.B, most int) {
	s := twoDays(b)
	b.ReportAllocs()
	for b.Loop() {
		rows := 0
		for _, err := range s.Thinned(b.Context(), deck().ID, time.Time{}, time.Time{}, most) {
			if err != nil {
				b.Fatal(err)
			}
			rows++
		}
		b.ReportMetric(float64(rows), "rows")
	}
}

func BenchmarkAddSample(b *testing.B) {
	s, err := record.Open(b.Context(), filepath.Join(b.TempDir(), "r.db"), record.Options{Flush: 1000 * time.Hour})
	if err != nil {
		b.Fatal(err)
	}
	defer func() { _ = s.Close() }()
	if err := s.PutRun(b.Context(), deck()); err != nil {
		b.Fatal(err)
	}
	noise := readings(6000)
	i := 0
	b.ReportAllocs()
	for b.Loop() {
		sample := noise[i%len(noise)]
		sample.Time = evening().Add(time.Duration(i) * 100 * time.Millisecond)
		sample.Mono = time.Duration(i) * 100 * time.Millisecond
		i++
		if err := s.AddSample(b.Context(), deck().ID, sample); err != nil {
			b.Fatal(err)
		}
	}
}
