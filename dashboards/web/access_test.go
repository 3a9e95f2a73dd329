package web_test

import (
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"testing"

	"golang.org/x/crypto/bcrypt"

	"github.com/nightclamp/nightclamp/dashboards/web"
)

const password = "birch and frost"

// hash is cheap to check: the real cost is tested once, in TestHashPassword.
func hash(t *testing.T) string {
	t.Helper()
	h, err := bcrypt.GenerateFromPassword([]byte(password), bcrypt.MinCost)
	if err != nil {
		t.Fatal(err)
	}
	return string(h)
}

// visit is one request from somewhere.
type visit struct {
	method, path, body string
	from               string // peer; empty: a phone on the LAN
	header             []string
	cookies            []*http.Cookie
}

func (v visit) to(h http.Handler) *httptest.ResponseRecorder {
	if v.method == "" {
		v.method = http.MethodGet
	}
	r := httptest.NewRequest(v.method, "http://192.168.1.20:9120"+v.path, strings.NewReader(v.body))
	r.RemoteAddr = "192.168.1.77:51000"
	if v.from != "" {
		r.RemoteAddr = v.from
	}
	for i := 0; i+1 < len(v.header); i += 2 {
		r.Header.Set(v.header[i], v.header[i+1])
	}
	for _, c := range v.cookies {
		r.AddCookie(c)
	}
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, r)
	return rec
}

func guarded(t *testing.T, a web.Access) http.Handler {
	t.Helper()
	if err := web.CheckAccess(a); err != nil {
		t.Fatal(err)
	}
	cfg := config(newFake(deck()))
	cfg.Access, cfg.Control = a, &hand{}
	return web.New(cfg)
}

func TestWithoutPasswordThisMachineAlone(t *testing.T) {
	h := guarded(t, web.Access{})
	for _, c := range []struct {
		what string
		v    visit
		want int
	}{
		{"this machine", visit{path: "/api/v1/status", from: local}, 200},
		{"this machine over IPv6", visit{path: "/api/v1/status", from: "[::1]:5000"}, 200},
		{"the LAN", visit{path: "/api/v1/status"}, 403},
		{"the LAN, metrics", visit{path: "/metrics"}, 403},
		{"the LAN through a proxy here", visit{path: "/api/v1/status", from: local, header: []string{"X-Forwarded-For", "192.168.1.77"}}, 403},
		{"the empty page", visit{path: "/"}, 200},
		{"health", visit{path: "/healthz"}, 200},
		{"an order from this machine", visit{method: "POST", path: "/api/v1/presses/deck/note", body: `{"text":"x"}`, from: local}, 200},
		{"an order from the LAN", visit{method: "POST", path: "/api/v1/presses/deck/note", body: `{"text":"x"}`}, 403},
	} {
		if rec := c.v.to(h); rec.Code != c.want {
			t.Errorf("%s: %d %s, want %d", c.what, rec.Code, rec.Body, c.want)
		}
	}
}

func TestLogin(t *testing.T) {
	h := guarded(t, web.Access{Password: hash(t)})
	for _, from := range []string{local, ""} {
		for _, path := range []string{"/api/v1/status", "/api/v1/stream", "/api/v1/config", "/metrics", "/api/v1/presses/deck/history"} {
			if rec := (visit{path: path, from: from}).to(h); rec.Code != 401 || rec.Header().Get("WWW-Authenticate") == "" {
				t.Errorf("%s from %q without login: %d", path, from, rec.Code)
			}
		}
	}
	if rec := (visit{method: "POST", path: "/api/v1/session", body: `{"password":"wrong"}`}).to(h); rec.Code != 403 || len(rec.Result().Cookies()) != 0 {
		t.Errorf("a wrong password: %d", rec.Code)
	}
	rec := visit{method: "POST", path: "/api/v1/session", body: `{"password":"` + password + `"}`}.to(h)
	cookies := rec.Result().Cookies()
	if rec.Code != 204 || len(cookies) != 1 {
		t.Fatalf("the right password: %d %v", rec.Code, cookies)
	}
	c := cookies[0]
	if !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Path != "/" || c.MaxAge <= 0 {
		t.Errorf("the cookie is too loose: %v", c)
	}
	if rec := (visit{path: "/api/v1/status", cookies: cookies}).to(h); rec.Code != 200 {
		t.Errorf("with the session: %d", rec.Code)
	}
	if rec := (visit{method: "POST", path: "/api/v1/presses/deck/note", body: `{"text":"x"}`, cookies: cookies}).to(h); rec.Code != 200 {
		t.Errorf("an order with the session: %d %s", rec.Code, rec.Body)
	}
	forged := *c
	forged.Value = strings.Replace(c.Value, "owner.1", "owner.2", 1)
	if rec := (visit{path: "/api/v1/status", cookies: []*http.Cookie{&forged}}).to(h); rec.Code != 401 {
		t.Errorf("a session made longer by hand: %d", rec.Code)
	}
	out := visit{method: "DELETE", path: "/api/v1/session", cookies: cookies}.to(h)
	if out.Code != 204 || out.Result().Cookies()[0].MaxAge >= 0 {
		t.Errorf("logging out: %d %v", out.Code, out.Result().Cookies())
	}
}

// A session survives a restart when the key does, and not a new password.
func TestSessionsAndRestarts(t *testing.T) {
	key := []byte("0123456789abcdef0123456789abcdef")
	access := web.Access{Password: hash(t), Key: key}
	login := visit{method: "POST", path: "/api/v1/session", body: `{"password":"` + password + `"}`}
	cookies := login.to(guarded(t, access)).Result().Cookies()
	read := visit{path: "/api/v1/status", cookies: cookies}
	if rec := read.to(guarded(t, access)); rec.Code != 200 {
		t.Errorf("after a restart: %d", rec.Code)
	}
	other := access
	other.Password = hash(t) // bcrypt salts: another hash
	if rec := read.to(guarded(t, other)); rec.Code != 401 {
		t.Errorf("after the password was set anew: %d", rec.Code)
	}
	other = access
	other.Key = nil
	if rec := read.to(guarded(t, other)); rec.Code != 401 {
		t.Errorf("with another key: %d", rec.Code)
	}
}

func TestTooManyTries(t *testing.T) {
	h := guarded(t, web.Access{Password: hash(t)})
	codes := map[int]int{}
	for range 12 {
		codes[visit{method: "POST", path: "/api/v1/session", body: `{"password":"wrong"}`}.to(h).Code]++
		codes[visit{path: "/api/v1/status", header: []string{"Authorization", "Bearer wrong"}}.to(h).Code]++
	}
	if codes[403] > 5 || codes[429] < 6 {
		t.Errorf("24 tries were answered %v", codes)
	}
	right := visit{method: "POST", path: "/api/v1/session", body: `{"password":"` + password + `"}`}
	if rec := right.to(h); rec.Code != 429 || rec.Header().Get("Retry-After") == "" {
		t.Errorf("the right password from the same place: %d", rec.Code)
	}
	right.from = "192.168.1.78:5000"
	if rec := right.to(h); rec.Code != 204 {
		t.Errorf("the right password from another place: %d", rec.Code)
	}
}

// A scraper sends the password with every request; the slow comparison is made
// once, so the limit on tries does not stop it.
func TestBasicAuthentication(t *testing.T) {
	h := guarded(t, web.Access{Password: hash(t)})
	r := httptest.NewRequest(http.MethodGet, "/metrics", nil)
	r.SetBasicAuth("prometheus", password)
	scrape := visit{path: "/metrics", header: []string{"Authorization", r.Header.Get("Authorization")}}
	for i := range 30 {
		if rec := scrape.to(h); rec.Code != 200 {
			t.Fatalf("scrape %d: %d", i, rec.Code)
		}
	}
}

func TestGuestLooksAndDoesNotTouch(t *testing.T) {
	h := guarded(t, web.Access{Password: hash(t), Guest: "a-word-of-sixteen"})
	if rec := (visit{path: "/?guest=guessed"}).to(h); rec.Code != 403 {
		t.Errorf("a wrong link: %d", rec.Code)
	}
	rec := visit{path: "/?guest=a-word-of-sixteen"}.to(h)
	if rec.Code != 303 || rec.Header().Get("Location") != "/" || len(rec.Result().Cookies()) != 1 {
		t.Fatalf("the link: %d %v", rec.Code, rec.Header())
	}
	cookies := rec.Result().Cookies()
	if rec := (visit{path: "/api/v1/status", cookies: cookies}).to(h); rec.Code != 200 {
		t.Errorf("a guest looks: %d", rec.Code)
	}
	if rec := (visit{method: "POST", path: "/api/v1/presses/deck/release", cookies: cookies}).to(h); rec.Code != 403 {
		t.Errorf("a guest opens the bag: %d", rec.Code)
	}
}

func TestReverseProxy(t *testing.T) {
	a := web.Access{UserHeader: "X-Forwarded-User", Proxies: []netip.Prefix{netip.MustParsePrefix("192.168.1.5/32")}}
	h := guarded(t, a)
	named := []string{"X-Forwarded-User", "aino"}
	for _, c := range []struct {
		what string
		v    visit
		want int
	}{
		{"the proxy with a user", visit{path: "/api/v1/status", from: "192.168.1.5:4000", header: named}, 200},
		{"the proxy without one", visit{path: "/api/v1/status", from: "192.168.1.5:4000"}, 401},
		{"somebody else who says so", visit{path: "/api/v1/status", header: named}, 401},
		{"this machine, which is no named proxy", visit{path: "/api/v1/status", from: local, header: named}, 401},
		{"this machine without a user", visit{path: "/api/v1/status", from: local}, 401},
	} {
		if rec := c.v.to(h); rec.Code != c.want {
			t.Errorf("%s: %d, want %d", c.what, rec.Code, c.want)
		}
	}
}

// A page of another origin cannot act for the owner, even from his browser.
func TestOtherOriginsCannotAct(t *testing.T) {
	h := guarded(t, web.Access{})
	note := visit{method: "POST", path: "/api/v1/presses/deck/note", body: `{"text":"x"}`, from: local}
	for _, header := range [][]string{
		{"Sec-Fetch-Site", "cross-site"}, {"Sec-Fetch-Site", "same-site"}, {"Origin", "https://evil.example.com"},
	} {
		v := note
		v.header = header
		if rec := v.to(h); rec.Code != 403 {
			t.Errorf("%v: %d", header, rec.Code)
		}
	}
	note.header = []string{"Sec-Fetch-Site", "same-origin", "Origin", "http://192.168.1.20:9120"}
	if rec := note.to(h); rec.Code != 200 {
		t.Errorf("our own page: %d %s", rec.Code, rec.Body)
	}
}

func TestHashPassword(t *testing.T) {
	h, err := web.HashPassword(password)
	if err != nil {
		t.Fatal(err)
	}
	if err := bcrypt.CompareHashAndPassword([]byte(h), []byte(password)); err != nil {
		t.Error(err)
	}
	for _, bad := range []string{"short", strings.Repeat("x", 73)} {
		if _, err := web.HashPassword(bad); err == nil {
			t.Errorf("a password of %d bytes was taken", len(bad))
		}
	}
	for _, bad := range []web.Access{{Password: "plain"}, {Guest: "short"}, {Key: []byte("short")}} {
		if err := web.CheckAccess(bad); err == nil {
			t.Errorf("%+v was taken", bad)
		}
	}
}
