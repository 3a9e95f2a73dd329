package web

import (
	"context"
	"net"
	"net/http"
	"net/netip"
	"strings"
)

// Access says who may see the page and who may do something on it. The zero
// value lets in whoever sits at the machine itself, and nobody else.
type Access struct {
	// Password is the hash that [HashPassword] makes. With one, everybody has to
	// log in, from everywhere.
	Password string
	// Guest opens the page for reading alone, by the link /?guest=WORD; empty:
	// there is no such link. It is a secret: at least 16 characters.
	Guest string
	// Key signs the sessions. Keep 32 random bytes in a file, so that a restart in
	// the night logs nobody out; nil: sessions end with the process.
	Key []byte
	// UserHeader names the header in which a reverse proxy gives the user that
	// it has logged in; empty: no proxy is believed.
	UserHeader string
	// Proxies are the peers whose UserHeader is believed; empty: loopback alone.
	Proxies []netip.Prefix
}

// role is what a visitor may do.
type role string

const (
	nobody role = "none"
	guest  role = "guest" // sees
	owner  role = "owner" // sees and does
)

type visitor struct {
	role role
	name string // who it is, as far as that is known; for the log and for alerts
}

type visitorKey struct{}

func visitorOf(ctx context.Context) visitor {
	v, _ := ctx.Value(visitorKey{}).(visitor)
	return v
}

// guard lets a request through to what its visitor may see and do.
func (s *server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v := s.gate.visitor(r)
		r = r.WithContext(context.WithValue(r.Context(), visitorKey{}, v))
		switch {
		case open(r.URL.Path), v.role == owner, v.role == guest && reads(r):
			next.ServeHTTP(w, r)
		case v.role == guest:
			s.fail(w, r, http.StatusForbidden, "a guest may look, not touch; log in with the password")
		case s.gate.access.Password == "" && s.gate.access.UserHeader == "":
			s.fail(w, r, http.StatusForbidden,
				"nightclamp has no password, so it answers this machine alone; set http.password_file in its config to open it to others")
		default:
			scheme := "Bearer" // which no browser makes a window of its own for
			if r.URL.Path == "/metrics" {
				scheme = "Basic"
			}
			w.Header().Set("WWW-Authenticate", scheme+` realm="nightclamp"`)
			s.fail(w, r, http.StatusUnauthorized, "log in first: POST {\"password\": …} to /api/v1/session, or send the password as basic authentication")
		}
	})
}

// open reports whether a path is for everybody: the empty page, which asks for
// the password, and what a supervisor asks.
func open(path string) bool {
	return path == "/healthz" || path == "/api/v1/session" || !strings.HasPrefix(path, "/api/") && path != "/metrics"
}

func reads(r *http.Request) bool { return r.Method == http.MethodGet || r.Method == http.MethodHead }

// visitor finds out who asks.
func (g *gate) visitor(r *http.Request) visitor {
	from := peer(r)
	if name := r.Header.Get(g.access.UserHeader); g.access.UserHeader != "" && name != "" && g.believes(from) {
		return visitor{owner, name}
	}
	if cookie, err := r.Cookie(cookieName); err == nil {
		if role, ok := g.sessions.check(cookie.Value, g.now()); ok {
			return visitor{role, "page"}
		}
	}
	if password, ok := credentials(r); ok && g.access.Password != "" && g.try(from, password) == nil {
		return visitor{owner, "api"}
	}
	if g.access.Password == "" && g.access.UserHeader == "" && from.IsLoopback() && !forwarded(r) {
		return visitor{owner, "local"}
	}
	return visitor{nobody, ""}
}

func (g *gate) believes(from netip.Addr) bool {
	if len(g.access.Proxies) == 0 {
		return from.IsLoopback()
	}
	for _, p := range g.access.Proxies {
		if p.Contains(from) {
			return true
		}
	}
	return false
}

// forwarded reports whether a proxy passed the request on, so that its sender
// is somebody else than the peer.
func forwarded(r *http.Request) bool {
	for _, name := range []string{"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-Ip", "Via"} {
		if r.Header.Get(name) != "" {
			return true
		}
	}
	return false
}

// credentials is the password that came with the request itself.
func credentials(r *http.Request) (string, bool) {
	if _, password, ok := r.BasicAuth(); ok {
		return password, true
	}
	return strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
}

// peer is the address at the other end of the connection.
func peer(r *http.Request) netip.Addr {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	addr, err := netip.ParseAddr(host)
	if err != nil {
		return netip.Addr{}
	}
	return addr.Unmap().WithZone("")
}
