package web

import (
	"compress/gzip"
	"encoding/json"
	"net/http"
	"strings"
)

// problem is how the API says no: RFC 9457, problem details.
type problem struct {
	Title  string `json:"title"`
	Status int    `json:"status"`
	Detail string `json:"detail"`
}

func (s *server) fail(w http.ResponseWriter, r *http.Request, code int, detail string) {
	if code >= http.StatusInternalServerError && r.Context().Err() == nil { // not where the client is gone
		s.Log.Warn("cannot answer a request", "path", r.URL.Path, "status", code, "err", detail)
	}
	w.Header().Set("Content-Type", "application/problem+json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(code)
	_ = json.NewEncoder(w).Encode(problem{http.StatusText(code), code, detail}) // the client may be gone
}

// answer sends a body as JSON, compressed for who takes it.
func answer(w http.ResponseWriter, r *http.Request, body []byte) {
	h := w.Header()
	h.Set("Content-Type", "application/json")
	h.Set("Cache-Control", "no-store")
	h.Add("Vary", "Accept-Encoding")
	if len(body) < 1400 || !takesGzip(r) {
		_, _ = w.Write(body) //nolint:gosec // JSON with its own content type and nosniff; the client may be gone.
		return
	}
	h.Set("Content-Encoding", "gzip")
	z, _ := gzip.NewWriterLevel(w, gzip.BestSpeed) // the level is valid
	_, _ = z.Write(body)
	_ = z.Close()
}

func takesGzip(r *http.Request) bool {
	for part := range strings.SplitSeq(r.Header.Get("Accept-Encoding"), ",") {
		name, q, _ := strings.Cut(strings.TrimSpace(part), ";")
		if name == "gzip" && strings.ReplaceAll(q, " ", "") != "q=0" {
			return true
		}
	}
	return false
}
