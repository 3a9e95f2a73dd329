package web

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"os"
	"slices"
	"strings"
)

// policy lets the page load nothing but its own files, run no inline script or
// style and be framed by nobody.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; " +
	"connect-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		next.ServeHTTP(w, r)
	})
}

// hosts refuses requests that were addressed to a name that is not ours.
func (s *server) hosts(next http.Handler) http.Handler {
	own := append([]string{"localhost"}, s.Hosts...)
	if name, err := os.Hostname(); err == nil {
		short, _, _ := strings.Cut(name, ".")
		own = append(own, name, short, short+".local")
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		name := hostname(r.Host)
		_, err := netip.ParseAddr(name)
		if err == nil || slices.ContainsFunc(own, func(o string) bool { return strings.EqualFold(o, name) }) {
			next.ServeHTTP(w, r)
			return
		}
		s.fail(w, r, http.StatusMisdirectedRequest, fmt.Sprintf(
			"nightclamp does not know itself as %q; use its IP address, or add the name to http.hosts in the config", name))
	})
}

func hostname(hostport string) string {
	if host, _, err := net.SplitHostPort(hostport); err == nil {
		return host
	}
	return strings.Trim(hostport, "[]")
}

func baseContext(ctx context.Context) func(net.Listener) context.Context {
	return func(net.Listener) context.Context { return ctx }
}
