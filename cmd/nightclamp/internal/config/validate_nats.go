package config

import (
	"net"
	"net/url"
	"os"
	"strings"
)

// nats checks the wire and fetches its secrets from their files.
func (f *faults) nats(n *NATS) {
	n.Password = f.secret("nats.password", n.Password, n.PasswordFile)
	n.Token = f.secret("nats.token", n.Token, n.TokenFile)
	f.credentials(n)
	if n.URL == "" {
		f.embedded(n)
		return
	}
	if n.MQTT != "" {
		f.at("nats.mqtt_listen", "nats.mqtt_listen is for the embedded server, which nats.url leaves out; switch MQTT on in that server")
	}
	if f.doc.has("nats.listen") {
		f.at("nats.listen", "nats.listen is for the embedded server, which nats.url leaves out; remove one of them")
	}
	for u := range strings.SplitSeq(n.URL, ",") {
		f.server(strings.TrimSpace(u))
	}
	if (n.Cert == "") != (n.Key == "") {
		f.at("nats.cert", "nats.cert and nats.key go together; give both or neither")
	}
	for _, file := range []struct{ path, name string }{
		{"nats.credentials", n.Credentials}, {"nats.ca", n.CA}, {"nats.cert", n.Cert}, {"nats.key", n.Key},
	} {
		f.readable(file.path, file.name)
	}
}

// credentials checks that what lets one in belongs together.
func (f *faults) credentials(n *NATS) {
	password := n.Password != "" || n.PasswordFile != ""
	token := n.Token != "" || n.TokenFile != ""
	switch {
	case (n.User != "") != password:
		f.at("nats.user", "nats.user and its password go together; give nats.user and nats.password_file, or neither")
	case password && token:
		f.at("nats.user", "nats.user and a token are two ways in; keep one")
	}
}

func (f *faults) embedded(n *NATS) {
	f.listen("nats.listen", n.Listen)
	f.mqtt(n)
	for _, key := range []string{"credentials", "ca", "cert", "key"} {
		if f.doc.has("nats." + key) {
			f.at("nats."+key, "nats.%s is for a server to join; give nats.url too, or remove it", key)
		}
	}
	if host, _ := n.HostPort(); !loopback(host) && n.open() {
		f.at("nats.listen", "nats.listen %s is open to the network, where anybody could command the press;"+
			" set nats.token_file, or nats.user and nats.password_file", n.Listen)
	}
}

// mqtt checks where wireless sensors come in.
func (f *faults) mqtt(n *NATS) {
	if n.MQTT == "" {
		return
	}
	f.listen("nats.mqtt_listen", n.MQTT)
	if n.MQTT == n.Listen && !strings.HasSuffix(n.MQTT, ":0") {
		f.at("nats.mqtt_listen", "nats.mqtt_listen and nats.listen are both %s; give one of them another port, such as 1883", n.MQTT)
	}
	if host, _ := n.MQTTHostPort(); !loopback(host) && n.open() {
		f.at("nats.mqtt_listen", "nats.mqtt_listen %s is open to the network, where anybody could invent the pressure and command the press;"+
			" set nats.user and nats.password_file, which the sensor must give too", n.MQTT)
	}
}

func loopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || (ip != nil && ip.IsLoopback())
}

// server checks one URL. It does not repeat it: people put passwords there.
func (f *faults) server(text string) {
	u, err := url.Parse(text)
	if err != nil || u.Hostname() == "" {
		f.at("nats.url", "nats.url (not shown) cannot be read; write nats://host:4222")
		return
	}
	switch u.Scheme {
	case "nats", "tls", "ws", "wss":
	default:
		f.at("nats.url", "nats.url begins with %s://; write nats://, tls://, ws:// or wss://", u.Scheme)
	}
	if u.User != nil {
		f.at("nats.url", "nats.url has a name or password in it; set nats.credentials, or nats.user and nats.password_file")
	}
}

func (f *faults) readable(path, name string) {
	if name == "" {
		return
	}
	file, err := os.Open(name)
	if err != nil {
		f.at(path, "%s: %v; name a file that nightclamp's user may read", path, err)
		return
	}
	file.Close() //nolint:errcheck,gosec // only looked at
}

// secret returns the secret itself, from its file if it has one.
func (f *faults) secret(path string, given Secret, file string) Secret {
	switch {
	case file == "":
		return given
	case f.doc.has(path):
		f.at(path, "%s and %s_file are both given; keep one", path, path)
		return given
	}
	s, err := readSecret(file)
	if err != nil {
		f.at(path+"_file", "%s_file: %v", path, err)
	}
	return s
}

// open reports whether nothing keeps strangers out. A secret whose file cannot be read
// is another fault.
func (n *NATS) open() bool {
	return n.Password == "" && n.PasswordFile == "" && n.Token == "" && n.TokenFile == ""
}
