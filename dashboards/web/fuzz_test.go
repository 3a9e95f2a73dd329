package web

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// Whatever stands in a query, it is an error or it is a stretch of time that
// can be asked for and written down again.
func FuzzHistoryQuery(f *testing.F) {
	f.Fuzz(func(t *testing.T, from, to, points string) {
		q := url.Values{"from": {from}, "to": {to}, "points": {points}}
		r := httptest.NewRequest(http.MethodGet, "/?"+q.Encode(), nil)
		begin, end, n, err := historyQuery(r, press.Status{Time: time.Unix(1792198800, 0)})
		if err != nil {
			return
		}
		if end.Before(begin) || n < minPoints || n > maxPoints {
			t.Errorf("%v to %v, %d points", begin, end, n)
		}
		if body := (Series{}).appendJSON(nil, from, begin, end); !json.Valid(body) {
			t.Errorf("not JSON: %s", body)
		}
	})
}

// No token opens anything but those that were signed here and have not ended.
func FuzzSessionToken(f *testing.F) {
	s := newSessions([]byte("0123456789abcdef0123456789abcdef"), "hash", "")
	now := time.Unix(1792198800, 0)
	other := newSessions([]byte("another key of thirty-two bytes!"), "hash", "")
	f.Add(other.token(owner, now.Add(time.Hour)))
	f.Add(s.token(owner, now.Add(-time.Second)))
	f.Fuzz(func(t *testing.T, token string) {
		if r, ok := s.check(token, now); ok {
			t.Errorf("%q opens the page as %s", token, r)
		}
	})
	if r, ok := s.check(s.token(guest, now.Add(time.Hour)), now); !ok || r != guest {
		f.Error("our own token does not open")
	}
}
