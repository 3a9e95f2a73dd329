package web

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"fmt"
	"net/http"
	"net/netip"
	"sync"
	"time"

	"golang.org/x/crypto/bcrypt"
	"golang.org/x/time/rate"
)

// gate knows the passwords and the sessions.
type gate struct {
	access   Access
	sessions sessions
	now      func() time.Time

	mu     sync.Mutex
	tries  map[netip.Addr]*rate.Limiter
	all    *rate.Limiter
	secret [32]byte // keys digests of passwords that were right
	right  [32]byte // digest of the password that was last found right
	proven bool
}

// How often a password may be tried: a few times in a row, then once in ten
// seconds from one place, and once a second from all places together.
const (
	triesInARow = 5
	triesEvery  = 10 * time.Second
	mostPlaces  = 1024
)

func newGate(a Access) *gate {
	g := &gate{access: a, now: time.Now, tries: make(map[netip.Addr]*rate.Limiter), all: rate.NewLimiter(1, 4*triesInARow)}
	_, _ = rand.Read(g.secret[:]) // never fails
	key := a.Key
	if len(key) == 0 {
		key = make([]byte, 32)
		_, _ = rand.Read(key)
	}
	g.sessions = newSessions(key, a.Password, a.Guest)
	return g
}

// HashPassword makes what [Access].Password takes: a bcrypt hash. The password
// must have 8 to 72 bytes.
func HashPassword(password string) (string, error) {
	if len(password) < 8 || len(password) > 72 {
		return "", fmt.Errorf("the password has %d bytes; choose one of 8 to 72", len(password))
	}
	hash, err := bcrypt.GenerateFromPassword([]byte(password), bcrypt.DefaultCost)
	if err != nil {
		return "", fmt.Errorf("hash the password: %w", err)
	}
	return string(hash), nil
}

// CheckAccess reports what is wrong with an Access before it is used.
func CheckAccess(a Access) error {
	if a.Password != "" {
		if _, err := bcrypt.Cost([]byte(a.Password)); err != nil {
			return fmt.Errorf("the password's hash cannot be read: %w; make one with nightclamp password", err)
		}
	}
	if a.Guest != "" && len(a.Guest) < 16 {
		return fmt.Errorf("the guest word has %d characters; take at least 16", len(a.Guest))
	}
	if a.Key != nil && len(a.Key) < 32 {
		return fmt.Errorf("the session key has %d bytes; it needs 32", len(a.Key))
	}
	return nil
}

var (
	errWrong   = errors.New("the password is not right")
	errTooMany = errors.New("too many tries; wait ten seconds")
)

// try compares a password. A right one costs the slow comparison only once.
func (g *gate) try(from netip.Addr, password string) error {
	mac := hmac.New(sha256.New, g.secret[:])
	mac.Write([]byte(password))
	digest := [32]byte(mac.Sum(nil))
	g.mu.Lock()
	known := g.proven && subtle.ConstantTimeCompare(digest[:], g.right[:]) == 1
	allowed := known || g.place(from).Allow() && g.all.Allow()
	g.mu.Unlock()
	switch {
	case known:
		return nil
	case !allowed:
		return errTooMany
	case bcrypt.CompareHashAndPassword([]byte(g.access.Password), []byte(password)) != nil:
		return errWrong
	}
	g.mu.Lock()
	g.right, g.proven = digest, true
	g.mu.Unlock()
	return nil
}

// place is the limit of one place: an IPv4 address, or an IPv6 network, of
// which one visitor has 2^64 addresses. Called with the lock held.
func (g *gate) place(from netip.Addr) *rate.Limiter {
	if from.Is6() {
		if p, err := from.Prefix(64); err == nil {
			from = p.Addr()
		}
	}
	limit, ok := g.tries[from]
	if !ok {
		if len(g.tries) >= mostPlaces {
			clear(g.tries) // the limit of all places still holds
		}
		limit = rate.NewLimiter(rate.Every(triesEvery), triesInARow)
		g.tries[from] = limit
	}
	return limit
}

// Session is the answer of /api/v1/session.
type Session struct {
	Role     string `json:"role"`     // none, guest or owner
	Name     string `json:"name"`     // who, as far as known
	Password bool   `json:"password"` // whether there is one to log in with
}

func (s *server) session(w http.ResponseWriter, r *http.Request) {
	v := visitorOf(r.Context())
	s.send(w, r, Session{string(v.role), v.name, s.gate.access.Password != ""})
}

func (s *server) login(w http.ResponseWriter, r *http.Request) {
	var o struct {
		Password string `json:"password"`
	}
	if err := decode(w, r, &o); err != nil {
		s.fail(w, r, http.StatusBadRequest, err.Error())
		return
	}
	if s.gate.access.Password == "" {
		s.fail(w, r, http.StatusConflict, "there is no password to log in with; set http.password_file in the config")
		return
	}
	switch err := s.gate.try(peer(r), o.Password); {
	case errors.Is(err, errTooMany):
		w.Header().Set("Retry-After", "10")
		s.fail(w, r, http.StatusTooManyRequests, err.Error())
	case err != nil:
		s.Log.Warn("a login was refused", "from", r.RemoteAddr)
		s.fail(w, r, http.StatusForbidden, err.Error())
	default:
		s.Log.Info("somebody logged in", "from", r.RemoteAddr)
		http.SetCookie(w, s.gate.sessions.cookie(r, owner, s.gate.now()))
		w.WriteHeader(http.StatusNoContent)
	}
}

func (s *server) logout(w http.ResponseWriter, r *http.Request) {
	http.SetCookie(w, endCookie(r))
	w.WriteHeader(http.StatusNoContent)
}

// invite turns the guest link into a session that reads.
func (s *server) invite(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		word := r.URL.Query().Get("guest")
		if r.URL.Path != "/" || word == "" || s.gate.access.Guest == "" {
			next.ServeHTTP(w, r)
			return
		}
		if subtle.ConstantTimeCompare([]byte(word), []byte(s.gate.access.Guest)) != 1 {
			s.fail(w, r, http.StatusForbidden, "this link is no longer good; ask for a new one")
			return
		}
		if visitorOf(r.Context()).role == nobody {
			http.SetCookie(w, s.gate.sessions.cookie(r, guest, s.gate.now()))
		}
		http.Redirect(w, r, "/", http.StatusSeeOther) // the word does not stay in the address bar
	})
}
