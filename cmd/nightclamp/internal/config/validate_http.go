package config

import (
	"net/netip"
	"strings"

	"golang.org/x/crypto/bcrypt"

	"github.com/nightclamp/nightclamp/alert"
)

// shortestGuest is the fewest characters of a guest's word: it is all that keeps
// a stranger from looking.
const shortestGuest = 16

// http checks who may see the page, and fetches its secrets from their files.
func (f *faults) http(h *HTTP) {
	f.listen("http.listen", h.Listen)
	h.password = f.secret("http.password", "", h.PasswordFile)
	h.guest = f.secret("http.guest", "", h.GuestFile)
	if h.password != "" {
		if _, err := bcrypt.Cost([]byte(h.password.Value())); err != nil {
			f.at("http.password_file", "http.password_file %s holds no hash of a password; make it with: nightclamp password > %s",
				h.PasswordFile, h.PasswordFile)
		}
	}
	if h.guest != "" && len(h.guest) < shortestGuest {
		f.at("http.guest_file", "http.guest_file %s holds %d characters; at least %d", h.GuestFile, len(h.guest), shortestGuest)
	}
	for _, p := range h.Proxies {
		if _, err := netip.ParsePrefix(p); err != nil {
			f.at("http.proxies", "http.proxies has %q; write networks as \"192.168.1.10/32\"", p)
		}
	}
	if len(h.Proxies) > 0 && h.UserHeader == "" {
		f.at("http.proxies", "http.proxies says whose header is believed, but http.user_header names none")
	}
	if (h.Cert == "") != (h.Key == "") {
		f.at("http.cert", "http.cert and http.key go together; give both or neither")
	}
	f.readable("http.cert", h.Cert)
	f.readable("http.key", h.Key)
	if err := alert.CheckBase(h.PublicURL); h.PublicURL != "" && err != nil {
		f.at("http.public_url", "http.public_url %v", err)
	}
	if strings.ContainsAny(h.UserHeader, " :\t") {
		f.at("http.user_header", "http.user_header %q is no name of a header; write it like X-Forwarded-User", h.UserHeader)
	}
}

// Password is the hash of the page's password; empty: there is none.
func (h HTTP) Password() string { return h.password.Value() }

// Guest is the word of the guests' link; empty: there is none.
func (h HTTP) Guest() string { return h.guest.Value() }

// Prefixes are the networks of the proxies.
func (h HTTP) Prefixes() []netip.Prefix {
	var list []netip.Prefix
	for _, p := range h.Proxies {
		if prefix, err := netip.ParsePrefix(p); err == nil { // Load has refused any other
			list = append(list, prefix)
		}
	}
	return list
}
