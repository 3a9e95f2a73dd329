package web_test

import (
	"bufio"
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/nightclamp/nightclamp/dashboards/web"
)

// tape is a ResponseWriter that a test can read while a stream writes.
type tape struct {
	mu   sync.Mutex
	text strings.Builder
	head http.Header
	code int
}

func (r *tape) Header() http.Header  { return r.head }
func (r *tape) WriteHeader(code int) { r.code = code }
func (r *tape) Flush()               {}
func (r *tape) Write(b []byte) (int, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.text.Write(b)
}

// take returns what was written since the last take, as events.
func (r *tape) take() []event {
	r.mu.Lock()
	defer r.mu.Unlock()
	all := events(r.text.String())
	r.text.Reset()
	return all
}

type event struct{ id, name, data, retry string }

func events(text string) []event {
	var all []event
	for block := range strings.SplitSeq(text, "\n\n") {
		if block == "" {
			continue
		}
		var e event
		for line := range strings.SplitSeq(block, "\n") {
			field, value, _ := strings.Cut(line, ": ")
			switch field {
			case "id":
				e.id = value
			case "event":
				e.name = value
			case "data":
				e.data = value
			case "retry":
				e.retry = value
			}
		}
		all = append(all, e)
	}
	return all
}

// open runs a stream until the context ends.
func open(ctx context.Context, h http.Handler, lastID string) (*tape, <-chan struct{}) {
	r := httptest.NewRequestWithContext(ctx, http.MethodGet, "http://localhost/api/v1/stream", nil)
	r.RemoteAddr = local
	if lastID != "" {
		r.Header.Set("Last-Event-ID", lastID)
	}
	out, done := &tape{head: make(http.Header)}, make(chan struct{})
	go func() {
		defer close(done)
		h.ServeHTTP(out, r)
	}()
	return out, done
}

func TestStream(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		src := newFake(deck())
		h := web.New(config(src))
		ctx, cancel := context.WithCancel(t.Context())
		out, done := open(ctx, h, "")
		synctest.Wait()
		got := out.take()
		if len(got) != 2 || got[0].retry != "2000" || got[1].name != "status" || got[1].id == "" {
			t.Fatalf("at first: %+v", got)
		}
		var snap web.Snapshot
		if err := json.Unmarshal([]byte(got[1].data), &snap); err != nil || snap.Presses[0].Sentence != deck().Sentence {
			t.Fatalf("%v %+v", err, snap)
		}
		first := got[1].id

		// Ten changes in a second are one event.
		st := deck()
		for range 10 {
			st.Samples++
			src.set(st)
			time.Sleep(50 * time.Millisecond)
		}
		time.Sleep(time.Second)
		synctest.Wait()
		if got = out.take(); len(got) != 1 || got[0].name != "status" || got[0].id == first {
			t.Fatalf("after ten changes: %+v", got)
		}

		// Then it beats.
		time.Sleep(25 * time.Second)
		synctest.Wait()
		got = out.take()
		if len(got) != 2 || got[0].name != "beat" || !strings.Contains(got[0].data, `"deck":2`) {
			t.Fatalf("when quiet: %+v", got)
		}
		cancel()
		<-done
		synctest.Wait()
		if src.watching() != 0 {
			t.Error("the stream left a subscription behind")
		}
	})
}

// A client that comes back with what is still the newest gets a beat alone.
func TestStreamResumes(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		src := newFake(deck())
		ctx, cancel := context.WithCancel(t.Context())
		defer cancel()
		out, _ := open(ctx, web.New(config(src)), "")
		synctest.Wait()
		id := out.take()[1].id

		// Another process of the daemon knows the id as well.
		out, _ = open(ctx, web.New(config(newFake(deck()))), id)
		synctest.Wait()
		if got := out.take(); len(got) != 2 || got[1].name != "beat" {
			t.Errorf("with the newest id: %+v", got)
		}
		out, _ = open(ctx, web.New(config(newFake(runners()))), id)
		synctest.Wait()
		if got := out.take(); len(got) != 2 || got[1].name != "status" {
			t.Errorf("with an old id: %+v", got)
		}
		cancel()
		synctest.Wait()
	})
}

func TestTooManyStreams(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := web.New(config(newFake(deck())))
		ctx, cancel := context.WithCancel(t.Context())
		for range 64 {
			open(ctx, h, "")
		}
		synctest.Wait()
		out, done := open(ctx, h, "")
		<-done
		if out.code != http.StatusServiceUnavailable || out.head.Get("Retry-After") == "" {
			t.Errorf("the 65th: %d", out.code)
		}
		cancel()
		synctest.Wait()
		ctx, cancel = context.WithCancel(t.Context())
		out, _ = open(ctx, h, "")
		synctest.Wait()
		if len(out.take()) != 2 {
			t.Error("places were not given back")
		}
		cancel()
		synctest.Wait()
	})
}

// Over a real connection a stream outlives the server's write timeout and does
// not hold up its shutdown.
func TestStreamOverTheWire(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	src := newFake(deck())
	cfg := config(src)
	ts := httptest.NewUnstartedServer(nil)
	ts.Config = web.Server(ctx, web.New(cfg), discard())
	ts.Start()
	defer ts.Close()
	resp, err := http.Get(ts.URL + "/api/v1/stream")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if kind := resp.Header.Get("Content-Type"); kind != "text/event-stream" {
		t.Errorf("content type %q", kind)
	}
	lines := bufio.NewScanner(resp.Body)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() && !strings.HasPrefix(lines.Text(), "data: ") {
	}
	if !strings.Contains(lines.Text(), "Leaking 3.1 kPa/h") {
		t.Errorf("got %q, %v", lines.Text(), lines.Err())
	}
	stop()
	closing, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	if err := ts.Config.Shutdown(closing); err != nil {
		t.Errorf("shut down with an open stream: %v", err)
	}
}
