package web

import (
	"encoding/json"
	"fmt"
	"hash/fnv"
	"net/http"
	"strconv"
	"time"
)

const (
	maxStreams  = 64               // open at once; a shop has fewer screens
	pace        = time.Second      // between two snapshots of one stream
	heartbeat   = 10 * time.Second // when nothing else was sent
	writeWithin = 10 * time.Second // a client that takes longer is gone
)

// stream sends a snapshot at once, another after each change (one a second at
// most) and a beat when all is quiet, as server-sent events. Each snapshot is
// whole, so a client that was away needs nothing but the newest; its
// Last-Event-ID only saves sending what it has.
func (s *server) stream(w http.ResponseWriter, r *http.Request) {
	select {
	case s.streams <- struct{}{}:
		defer func() { <-s.streams }()
	default:
		w.Header().Set("Retry-After", "10")
		s.fail(w, r, http.StatusServiceUnavailable, "too many open streams; close a page")
		return
	}
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no") // nginx in front would hold the events back
	out := &events{w: w, control: http.NewResponseController(w), sent: r.Header.Get("Last-Event-ID")}
	if err := s.follow(r, out); err != nil {
		s.Log.Debug("a stream ended", "client", r.RemoteAddr, "err", err)
	}
}

func (s *server) follow(r *http.Request, out *events) error {
	changes := s.Source.Subscribe(r.Context())
	if err := out.write("retry: 2000\n\n"); err != nil {
		return err
	}
	if err := out.snapshot(s.snapshot()); err != nil {
		return err
	}
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	rest := time.NewTimer(pace)
	defer rest.Stop()
	var next <-chan struct{} // changes, once the pace allows the next snapshot
	for {
		select {
		case <-r.Context().Done():
			return r.Context().Err()
		case <-rest.C:
			next = changes
		case _, open := <-next:
			if !open {
				return nil
			}
			if err := out.snapshot(s.snapshot()); err != nil {
				return err
			}
			next = nil
			rest.Reset(pace)
			beat.Reset(heartbeat)
		case <-beat.C:
			if err := out.beat(s.snapshot()); err != nil {
				return err
			}
		}
	}
}

// events writes server-sent events to one client.
type events struct {
	w       http.ResponseWriter
	control *http.ResponseController
	sent    string // id of the newest snapshot that the client has
}

func (e *events) write(text string) error {
	// A writer without deadlines (a test's recorder) is as good.
	_ = e.control.SetWriteDeadline(time.Now().Add(writeWithin))
	if _, err := e.w.Write([]byte(text)); err != nil {
		return fmt.Errorf("write an event: %w", err)
	}
	return e.control.Flush()
}

// snapshot sends what is new to the client.
func (e *events) snapshot(snap Snapshot) error {
	data, err := json.Marshal(snap)
	if err != nil {
		return fmt.Errorf("encode a snapshot: %w", err)
	}
	id, err := identify(snap)
	if err != nil {
		return err
	}
	if id == e.sent {
		return e.beat(snap)
	}
	e.sent = id
	return e.write("id: " + id + "\nevent: status\ndata: " + string(data) + "\n\n")
}

// beat tells the client that the daemon lives, and how old its samples are.
func (e *events) beat(snap Snapshot) error {
	ages := make(map[string]any, len(snap.Presses))
	for _, p := range snap.Presses {
		ages[p.Press] = p.SampleAgeS
	}
	data, err := json.Marshal(map[string]any{"now": snap.Now, "sample_age_s": ages})
	if err != nil {
		return fmt.Errorf("encode a beat: %w", err)
	}
	return e.write("event: beat\ndata: " + string(data) + "\n\n")
}

// identify names the content of a snapshot, whatever process sends it and
// whenever, so that a client that reconnects after a restart is understood.
func identify(snap Snapshot) (string, error) {
	sum := fnv.New64a()
	enc := json.NewEncoder(sum)
	for _, p := range snap.Presses {
		if err := enc.Encode(p.Status); err != nil {
			return "", fmt.Errorf("identify a snapshot: %w", err)
		}
	}
	return strconv.FormatUint(sum.Sum64(), 36), nil
}
