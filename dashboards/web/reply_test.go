package web_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press"
)

// desk is a Replies of one alert.
type desk struct {
	state   press.AlertState
	replies int
}

func (d *desk) Asked(_ context.Context, token string) (web.Question, error) {
	switch token {
	case "good":
		return web.Question{Title: "sled: a leak <b>", Text: "Top up before 04:30.", Since: "01:12", State: d.state, By: "acknowledged by the link sent to phone"}, nil
	case "old":
		return web.Question{}, press.Errorf(press.Gone, "too old")
	}
	return web.Question{}, press.Errorf(press.NotFound, "not made here")
}

func (d *desk) Reply(ctx context.Context, token string) (web.Question, error) {
	if token == "good" {
		d.replies++
		d.state = press.AlertAcknowledged
	}
	return d.Asked(ctx, token)
}

func TestReplies(t *testing.T) {
	d := &desk{state: press.AlertRaised}
	cfg := config(newFake(deck()))
	cfg.Access.Password, cfg.Replies, cfg.Hosts = hash(t), d, []string{"shed.example.org"}
	h := web.New(cfg)
	ask := func(method, token string, header ...string) *httptest.ResponseRecorder {
		r := httptest.NewRequest(method, "https://shed.example.org/answer/"+token, nil)
		for i := 0; i < len(header); i += 2 {
			r.Header.Set(header[i], header[i+1])
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}
	for _, method := range []string{http.MethodGet, http.MethodHead, http.MethodGet} {
		if w := ask(method, "good"); w.Code != http.StatusOK || d.replies != 0 {
			t.Fatalf("%s: %d, %d replies: following a link must not answer", method, w.Code, d.replies)
		}
	}
	w := ask(http.MethodGet, "good")
	body := w.Body.String()
	if strings.Count(body, "<button") != 1 || !strings.Contains(body, `<form method="post">`) || !strings.Contains(body, "Since 01:12.") ||
		strings.Contains(body, "leak <b>") || strings.Contains(body, "<script") {
		t.Errorf("the page: %s", body)
	}
	for name, want := range map[string]string{"Cache-Control": "no-store", "Referrer-Policy": "no-referrer", "X-Robots-Tag": "noindex, nofollow"} {
		if got := w.Header().Get(name); got != want {
			t.Errorf("%s: %q", name, got)
		}
	}
	if css := ask(http.MethodGet, "../reply.css"); css.Code != http.StatusOK && css.Code != http.StatusMovedPermanently && css.Code != http.StatusTemporaryRedirect {
		t.Errorf("its style: %d", css.Code)
	}
	if w := ask(http.MethodPost, "good", "Sec-Fetch-Site", "cross-site", "Origin", "https://elsewhere.example.org"); w.Code != http.StatusForbidden || d.replies != 0 {
		t.Errorf("from another site: %d, %d replies", w.Code, d.replies)
	}
	for token, code := range map[string]int{"old": http.StatusGone, "forged": http.StatusNotFound} {
		for _, method := range []string{http.MethodGet, http.MethodPost} {
			if w := ask(method, token); w.Code != code || strings.Contains(w.Body.String(), "<button") {
				t.Errorf("%s %s: %d", method, token, w.Code)
			}
		}
	}
	w = ask(http.MethodPost, "good", "Sec-Fetch-Site", "same-origin", "Origin", "https://shed.example.org")
	if body := w.Body.String(); w.Code != http.StatusOK || d.replies != 1 || strings.Contains(body, "<button") ||
		!strings.Contains(body, "Taken: acknowledged by the link sent to phone.") {
		t.Errorf("answered: %d, %d replies: %s", w.Code, d.replies, body)
	}
	d.state = press.AlertCleared
	if body := ask(http.MethodGet, "good").Body.String(); strings.Contains(body, "<button") || !strings.Contains(body, "It is over.") {
		t.Errorf("over: %s", body)
	}
	// The link opens this one door.
	if w := ask(http.MethodGet, "../api/v1/status"); w.Code == http.StatusOK {
		t.Error("the status is open to everybody")
	}
}
