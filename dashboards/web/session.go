package web

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"
)

const (
	cookieName = "nightclamp_session"
	// sessionFor is long: whoever watches a press in the night should not have
	// to look for a password.
	sessionFor = 30 * 24 * time.Hour
)

// sessions makes and checks session tokens. A token is signed and says its
// role and its end, so that nothing has to be kept and a restart ends none.
type sessions struct{ key []byte }

// newSessions derives the key from the password as well: who changes it ends
// all sessions.
func newSessions(key []byte, password, guestWord string) sessions {
	mac := hmac.New(sha256.New, key)
	fmt.Fprintf(mac, "nightclamp session 1\n%q\n%q\n", password, guestWord)
	return sessions{mac.Sum(nil)}
}

func (s sessions) sign(payload string) string {
	mac := hmac.New(sha256.New, s.key)
	mac.Write([]byte(payload))
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil))
}

func (s sessions) token(r role, end time.Time) string {
	payload := string(r) + "." + strconv.FormatInt(end.Unix(), 10) + "." + rand.Text()
	return payload + "." + s.sign(payload)
}

// check returns the role of a token that is ours and has not ended.
func (s sessions) check(token string, now time.Time) (role, bool) {
	i := strings.LastIndexByte(token, '.')
	if i < 0 || !hmac.Equal([]byte(token[i+1:]), []byte(s.sign(token[:i]))) {
		return nobody, false
	}
	parts := strings.Split(token[:i], ".")
	if len(parts) != 3 {
		return nobody, false
	}
	end, err := strconv.ParseInt(parts[1], 10, 64)
	if err != nil || now.Unix() >= end {
		return nobody, false
	}
	return role(parts[0]), true
}

func (s sessions) cookie(r *http.Request, who role, now time.Time) *http.Cookie {
	c := bareCookie(r) //nolint:gosec // see bareCookie
	c.Value = s.token(who, now.Add(sessionFor))
	c.MaxAge = int(sessionFor.Seconds())
	return c
}

func endCookie(r *http.Request) *http.Cookie {
	c := bareCookie(r) //nolint:gosec // see bareCookie
	c.MaxAge = -1
	return c
}

func bareCookie(r *http.Request) *http.Cookie {
	return &http.Cookie{ //nolint:gosec // Secure wherever there is TLS; on a LAN without it the cookie must still travel.
		Name: cookieName, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode,
		Secure: r.TLS != nil || r.Header.Get("X-Forwarded-Proto") == "https",
	}
}
