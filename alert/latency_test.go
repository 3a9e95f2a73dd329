package alert

import (
	"context"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
)

// BenchmarkLatency measures the way of an alert from the event that decides,
// through the book, the record on disk and the outbox, to the HTTP server that
// receives it, while four presses record at 10 Hz. It reports percentiles.
func BenchmarkLatency(b *testing.B) {
	store, err := record.Open(b.Context(), filepath.Join(b.TempDir(), "n.db"), record.Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer store.Close()
	arrived := make(chan time.Time, 1)
	srv := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { arrived <- time.Now() }))
	defer srv.Close()
	ways, err := NewWays([]Way{{Name: "hook", URL: "generic://" + strings.TrimPrefix(srv.URL, "http://") + "/?disabletls=yes"}}, quiet())
	if err != nil {
		b.Fatal(err)
	}
	d := NewDispatcher(store, ways, quiet())
	ctx, stop := context.WithCancel(b.Context())
	var wg sync.WaitGroup
	wg.Go(func() { _ = d.Run(ctx) })
	defer func() { stop(); wg.Wait() }()
	for _, name := range []string{"a", "b", "c", "d"} {
		run := record.Run{ID: name + "-1", Site: "shed", Press: name, Started: night}
		if err := store.Commit(ctx, record.Batch{Run: &run}); err != nil {
			b.Fatal(err)
		}
		wg.Go(func() { tenHertz(ctx, store, run.ID) })
	}
	book, st := NewBook(Config{}), holding()
	st.Press, st.Run = "a", "a-1"
	var took []time.Duration
	for b.Loop() {
		st.Time = st.Time.Add(2 * time.Hour)
		start := time.Now()
		alerts := book.Judge(press.Event{Time: st.Time, Site: "shed", Press: "a", Run: "a-1", Kind: press.ClockStepped, ByS: 60}, st)
		if err := store.Commit(ctx, record.Batch{Alerts: alerts, Deliveries: ways.Deliveries(alerts)}); err != nil {
			b.Fatal(err)
		}
		d.Wake()
		took = append(took, (<-arrived).Sub(start))
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms-p50")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "ms-p99")
	b.ReportMetric(float64(took[len(took)-1].Microseconds())/1000, "ms-max")
}

func tenHertz(ctx context.Context, store *record.Store, run string) {
	tick := time.NewTicker(100 * time.Millisecond)
	defer tick.Stop()
	for at := night; ; at = at.Add(100 * time.Millisecond) {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			_ = store.AddSample(ctx, run, sensor.Sample{Time: at, Bag: 16000, Ambient: 100000, GlueLine: 12, Air: 11})
		}
	}
}

// BenchmarkAdvance is the cost of the book for one status without news.
func BenchmarkAdvance(b *testing.B) {
	book, st := NewBook(Config{}), holding()
	b.ReportAllocs()
	for b.Loop() {
		st.Time = st.Time.Add(time.Second)
		book.Advance(nil, st)
	}
}
