//go:build full

package daemon

import (
	"context"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

// nights plays one simulated night after the other, a sample a second, for as many
// days as it is told, and looks at each midnight.
type nights struct {
	days     int
	midnight func(day int)
}

func (*nights) Health() []press.SensorStatus { return nil }

func (n *nights) Run(_ context.Context, take func(sensor.Sample)) error {
	const day, night = 24 * 3600, 30 * 3600
	cfg := sim.BoatShed()
	begins := sim.BoatShedBegins(time.UTC)
	var bag *sim.Bag
	for i := range n.days * day {
		at := begins.Add(time.Duration(i) * time.Second)
		if i%night == 0 { // the next blank
			cfg.Start, cfg.Seed = at, uint64(i)
			bag = sim.New(cfg)
		}
		take(bag.Step(at))
		if i > 0 && i%day == 0 {
			n.midnight(i / day)
		}
	}
	return nil
}

// TestWeekIsFlat plays a simulated week through one station, with record, alerts and
// all: after the second day neither the heap nor the number of goroutines grows.
func TestWeekIsFlat(t *testing.T) {
	store := openStore(t, filepath.Join(t.TempDir(), "n.db"))
	d := newDaemon(t, store, nil)
	heap, goroutines := map[int]uint64{}, map[int]int{}
	feed := &nights{days: 8, midnight: func(day int) {
		var m runtime.MemStats
		runtime.GC()
		runtime.GC()
		runtime.ReadMemStats(&m)
		heap[day], goroutines[day] = m.HeapAlloc, runtime.NumGoroutine()
	}}
	d.stations[0].feed = feed
	play(t, d)
	for day := 1; day <= 7; day++ {
		t.Logf("day %d: heap %.2f MB, %d goroutines", day, float64(heap[day])/1e6, goroutines[day])
	}
	runs, err := store.Runs(t.Context(), record.Filter{})
	if err != nil || len(runs) < 5 {
		t.Fatalf("%d runs in a week, %v", len(runs), err)
	}
	// A run that is under way keeps its own story; between nights the heap moves by
	// that. A megabyte in five days would be a leak that a year makes 70 MB of.
	const slack = 1 << 20
	most, before := uint64(0), max(heap[1], heap[2], heap[3])
	for day := 4; day <= 7; day++ {
		most = max(most, heap[day])
	}
	if most > before+slack {
		t.Errorf("the heap grew from %d to %d bytes", before, most)
	}
	if goroutines[7] > goroutines[2] {
		t.Errorf("goroutines grew from %d to %d", goroutines[2], goroutines[7])
	}
}
