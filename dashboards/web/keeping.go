package web

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"mime"
	"net/http"
	"path/filepath"
	"strconv"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// Keeping is what the page can do with runs that are over. The answers that are
// any are what openapi.json describes: Comparison and CameOut.
type Keeping interface {
	// Compare puts the last so many runs of a press (of all, when it is empty) side
	// by side.
	Compare(ctx context.Context, press string, last int) (any, error)
	// CameOut returns what came out of a run.
	CameOut(ctx context.Context, run string) (any, error)
	// PutOutcome keeps what was measured on release, a day or a week later, in place
	// of what was kept for that time; photos stay.
	PutOutcome(ctx context.Context, run, after string, o OutcomeOrder) (any, error)
	// AddPhoto keeps a picture with it.
	AddPhoto(ctx context.Context, run, after, name string, in io.Reader) (any, error)
	// Photo returns the file of a picture.
	Photo(ctx context.Context, run, name string) (string, error)
	// Zip writes the press record of a run and returns its name.
	Zip(ctx context.Context, run string, w io.Writer) (string, error)
}

// OutcomeOrder is what somebody measured. What was not measured is unknown.
type OutcomeOrder struct {
	Along       CurveOrder `json:"along"`
	Across      CurveOrder `json:"across"`
	WeightKg    press.Num  `json:"weight_kg"`
	Delaminated *bool      `json:"delaminated"`
	Notes       string     `json:"notes"`
}

// CurveOrder is one curve of a blank and its mould, in metres.
type CurveOrder struct {
	DepthM       press.Num `json:"depth_m"`
	RadiusM      press.Num `json:"radius_m"`
	SpanM        press.Num `json:"span_m"`
	MouldDepthM  press.Num `json:"mould_depth_m"`
	MouldRadiusM press.Num `json:"mould_radius_m"`
}

func unmeasured() OutcomeOrder {
	u := press.Unknown()
	c := CurveOrder{u, u, u, u, u}
	return OutcomeOrder{Along: c, Across: c, WeightKg: u}
}

func (s *server) keeping() []route {
	const under = "/api/v1/runs/{run}/"
	return []route{
		{"GET /api/v1/compare", s.compare},
		{"GET " + under + "outcomes", s.cameOut},
		{"PUT " + under + "outcomes/{after}", s.putOutcome},
		{"POST " + under + "outcomes/{after}/photos/{name}", s.addPhoto},
		{"GET " + under + "photos/{name}", s.photo},
		{"GET " + under + "record.zip", s.recordZip},
	}
}

func (s *server) compare(w http.ResponseWriter, r *http.Request) {
	last := 20
	if v := r.URL.Query().Get("last"); v != "" {
		n, err := strconv.Atoi(v)
		if err != nil || n < 1 || n > mostRuns {
			s.fail(w, r, http.StatusBadRequest, fmt.Sprintf("last=%q: want a whole number from 1 to %d", v, mostRuns))
			return
		}
		last = n
	}
	result, err := s.Keeping.Compare(r.Context(), r.URL.Query().Get("press"), last)
	s.give(w, r, result, err)
}

// give answers with a value or with what went wrong.
func (s *server) give(w http.ResponseWriter, r *http.Request, value any, err error) {
	if err != nil {
		s.fail(w, r, press.Code(err), err.Error())
		return
	}
	s.send(w, r, value)
}

func (s *server) cameOut(w http.ResponseWriter, r *http.Request) {
	result, err := s.Keeping.CameOut(r.Context(), r.PathValue("run"))
	s.give(w, r, result, err)
}

func (s *server) putOutcome(w http.ResponseWriter, r *http.Request) {
	o := unmeasured()
	if err := decode(w, r, &o); err != nil {
		s.fail(w, r, http.StatusBadRequest, err.Error())
		return
	}
	result, err := s.Keeping.PutOutcome(r.Context(), r.PathValue("run"), r.PathValue("after"), o)
	if err == nil {
		s.Log.Info("outcome from the page kept", "path", r.URL.Path, "by", visitorOf(r.Context()).name, "from", r.RemoteAddr)
	}
	s.give(w, r, result, err)
}

// slow is how long a big picture or an archive may take on a slow board and a weak
// wireless link.
const slow = 3 * time.Minute

// mostPhoto is a little more than the record takes, so that it can say so itself.
const mostPhoto = 21 << 20

func (s *server) addPhoto(w http.ResponseWriter, r *http.Request) {
	// Where the deadline cannot be moved the ordinary one holds.
	_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(slow))
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(slow))
	result, err := s.Keeping.AddPhoto(r.Context(), r.PathValue("run"), r.PathValue("after"), r.PathValue("name"),
		http.MaxBytesReader(w, r.Body, mostPhoto))
	s.give(w, r, result, err)
}

func (s *server) photo(w http.ResponseWriter, r *http.Request) {
	path, err := s.Keeping.Photo(r.Context(), r.PathValue("run"), r.PathValue("name"))
	if err != nil {
		s.fail(w, r, press.Code(err), err.Error())
		return
	}
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(slow))
	w.Header().Set("Cache-Control", "private, max-age=86400")
	http.ServeFile(w, r, path) //nolint:gosec // a photo that the record names
}

// recordZip makes one archive at a time: it takes the memory of a whole run.
func (s *server) recordZip(w http.ResponseWriter, r *http.Request) {
	select {
	case s.zipping <- struct{}{}:
		defer func() { <-s.zipping }()
	case <-r.Context().Done():
		return
	}
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(slow))
	var archive bytes.Buffer
	name, err := s.Keeping.Zip(r.Context(), r.PathValue("run"), &archive)
	if err != nil {
		s.fail(w, r, press.Code(err), err.Error())
		return
	}
	h := w.Header()
	h.Set("Content-Type", "application/zip")
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": filepath.Base(name) + ".zip"}))
	h.Set("Content-Length", strconv.Itoa(archive.Len()))
	_, _ = archive.WriteTo(w) // the client may be gone
}
