package alert

import (
	"net"
	"net/url"
	"strings"
)

// Address is the host and port that a way's URL leads to, to see whether it can
// be reached without sending anything; empty where the URL does not tell. It
// holds no secret.
func Address(raw string) string {
	u, err := url.Parse(raw)
	if err != nil {
		return ""
	}
	scheme, carrier, _ := strings.Cut(u.Scheme, "+")
	host, port := u.Hostname(), u.Port()
	plain := carrier == "http" || strings.EqualFold(u.Query().Get("disabletls"), "yes") ||
		strings.EqualFold(u.Query().Get("scheme"), "http")
	if fixed := fixedHosts()[scheme]; fixed != "" && (host == "" || !ownHost(scheme)) {
		host, port = fixed, "443"
	}
	switch {
	case host == "" || !hosted(scheme):
		return ""
	case port != "":
	case scheme == "smtp":
		port = "25"
	case plain:
		port = "80"
	default:
		port = "443"
	}
	return net.JoinHostPort(host, port)
}

// fixedHosts are the services whose URL holds tokens where others have a host.
// Names of hosts from memory of the services' own interfaces.
func fixedHosts() map[string]string {
	return map[string]string{
		"discord": "discord.com", "telegram": "api.telegram.org", "pushover": "api.pushover.net",
		"slack": "hooks.slack.com", "pushbullet": "api.pushbullet.com", "ntfy": "ntfy.sh",
	}
}

// ownHost reports whether the service may also run on a host of one's own, which
// stands in the URL then.
func ownHost(scheme string) bool { return scheme == "ntfy" }

// hosted reports whether the host of the URL is that of the service.
func hosted(scheme string) bool {
	switch scheme {
	case "smtp", "ntfy", "gotify", "generic", "webhook", "matrix", "mattermost", "rocketchat", "signal", "zulip", "bark",
		"discord", "telegram", "pushover", "slack", "pushbullet":
		return true
	}
	return false
}
