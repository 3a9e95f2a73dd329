package csvfile

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

func TestSource(t *testing.T) {
	path := filepath.Join(t.TempDir(), "night.csv")
	if err := os.WriteFile(path, []byte("time,bag_pa\n100,1\n110,2\n120,3\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	begin := time.Date(2026, 10, 16, 20, 0, 0, 0, time.UTC)
	now := begin
	s, err := Open(Config{Path: path, Speed: 2, StationPa: 101325}, func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		after time.Duration
		bag   float64
	}{{0, 1}, {4 * time.Second, 1}, {5 * time.Second, 2}, {9 * time.Second, 2}, {10 * time.Second, 3}} {
		now = begin.Add(c.after)
		got, err := s.Read(t.Context())
		if err != nil || got.Bag != c.bag || !got.Time.Equal(now) {
			t.Errorf("after %v: got %+v, %v, want bag %v", c.after, got, err, c.bag)
		}
	}
	now = begin.Add(11 * time.Second)
	if _, err := s.Read(t.Context()); !errors.Is(err, io.EOF) {
		t.Errorf("after the end: %v", err)
	}
	if reads := s.Reads(); !slices.Equal(reads, []sensor.Quantity{sensor.Bag, sensor.Ambient}) {
		t.Errorf("reads %v", reads)
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
}

func TestOpenErrors(t *testing.T) {
	empty := filepath.Join(t.TempDir(), "empty.csv")
	if err := os.WriteFile(empty, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	plain := Defaults()
	for name, path := range map[string]string{"no path": "", "no file": "no/such/file.csv", "empty file": empty} {
		plain.Path = path
		if s, err := Open(plain, time.Now); err == nil {
			t.Errorf("%s was opened: %v", name, s)
		}
	}
	for _, cfg := range []Config{{Path: empty, StationPa: 1}, {Path: empty, Speed: -1, StationPa: 1}, {Path: empty, Speed: 1}} {
		if s, err := Open(cfg, time.Now); err == nil {
			t.Errorf("%+v was opened: %v", cfg, s)
		}
	}
}
