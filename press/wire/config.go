package wire

import (
	"crypto/tls"
	"errors"
	"fmt"
	"math/rand/v2"
	"net"
	"net/url"
	"os"
	"strings"
	"time"

	"github.com/nats-io/nats.go"
)

// DefaultPort is where the embedded server listens.
const DefaultPort = 4222

// Config says which NATS server carries the messages. The zero value is a
// server inside the process on 127.0.0.1:4222, for the site "shed".
type Config struct {
	Site string // names this board on the wire; empty: "shed"

	// URL of a server or cluster to join (commas between several); empty: the
	// embedded server is started.
	URL         string
	Credentials string // path of a .creds file
	User        string
	Password    string
	Token       string
	CA          string // path of the PEM certificates that vouch for the server
	Cert        string // path of the PEM client certificate
	Key         string // path of its key

	Host     string // the embedded server binds here; empty: 127.0.0.1
	Port     int    // 0: 4222; -1: any free one
	MQTTHost string // the embedded server takes MQTT here; needs StoreDir
	MQTTPort int    // 0: it takes none; -1: any free one
	StoreDir string // the embedded server keeps JetStream here; empty: no JetStream

	NoJetStream bool          // do not look for JetStream; publish plainly
	Heartbeat   time.Duration // between two heartbeats; 0: 10 s
	Version     string        // of the daemon, told to whoever asks
	Backlog     Backlog       // where events and alerts wait; nil: 4096 of them in memory
}

func (c Config) site() string {
	if c.Site == "" {
		return "shed"
	}
	return c.Site
}

func (c Config) host() string {
	if c.Host == "" {
		return "127.0.0.1"
	}
	return c.Host
}

func (c Config) port() int {
	if c.Port == 0 {
		return DefaultPort
	}
	return c.Port
}

func (c Config) heartbeat() time.Duration {
	if c.Heartbeat <= 0 {
		return 10 * time.Second
	}
	return c.Heartbeat
}

// Check reports what is wrong with the configuration, without connecting.
func (c Config) Check() error {
	if err := ValidToken(c.site()); err != nil {
		return fmt.Errorf("site: %w", err)
	}
	if c.URL == "" {
		return c.checkEmbedded()
	}
	for u := range strings.SplitSeq(c.URL, ",") {
		if err := checkURL(strings.TrimSpace(u)); err != nil {
			return err
		}
	}
	if (c.Cert == "") != (c.Key == "") {
		return errors.New("nats: a client certificate and its key go together; set nats.cert and nats.key, or neither")
	}
	for key, path := range map[string]string{"credentials": c.Credentials, "ca": c.CA, "cert": c.Cert, "key": c.Key} {
		if err := readable(path); err != nil {
			return fmt.Errorf("nats.%s: %w; name a file that nightclamp's user may read", key, err)
		}
	}
	return nil
}

func (c Config) checkEmbedded() error {
	if c.Port < -1 || c.Port > 65535 {
		return fmt.Errorf("nats.listen: %d is no port; use 1 to 65535, or -1 for any free one", c.Port)
	}
	if c.MQTTPort != 0 && c.StoreDir == "" {
		return errors.New("nats: MQTT needs a folder for its sessions, and none was given")
	}
	if c.MQTTPort != 0 && !loopback(c.MQTTHost) && c.Token == "" && c.Password == "" {
		return fmt.Errorf("nats.mqtt_listen on %s is not loopback: anybody on that network could invent the pressure; "+
			"set nats.user and nats.password", c.MQTTHost)
	}
	if !loopback(c.host()) && c.Token == "" && c.Password == "" {
		return fmt.Errorf("nats.host %s is not loopback: anybody on that network could command the press; "+
			"set nats.token, or nats.user and nats.password", c.host())
	}
	return nil
}

func checkURL(s string) error {
	u, err := url.Parse(s)
	if err != nil { // err repeats the URL, and with it a password
		return errors.New("nats.url cannot be read; write it as nats://host:4222")
	}
	switch u.Scheme {
	case "nats", "tls", "ws", "wss":
	default:
		return fmt.Errorf("nats.url %s: scheme %q is not known; write it as nats://host:4222, or tls://host:4222", u.Redacted(), u.Scheme)
	}
	if u.Hostname() == "" {
		return fmt.Errorf("nats.url %s names no host; write it as nats://host:4222", u.Redacted())
	}
	return nil
}

func readable(path string) error {
	if path == "" {
		return nil
	}
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return f.Close()
}

func loopback(host string) bool {
	if host == "localhost" {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}

// redacted is urls without what is secret in them.
func redacted(urls string) string {
	parts := strings.Split(urls, ",")
	for i, s := range parts {
		u, err := url.Parse(strings.TrimSpace(s))
		if err != nil {
			parts[i] = "(a URL that cannot be read)"
			continue
		}
		if u.User != nil {
			u.User = url.User("…")
		}
		parts[i] = strings.Replace(u.String(), "%E2%80%A6", "…", 1)
	}
	return strings.Join(parts, ",")
}

// auth is what both ends of the wire need to be let in.
func (c Config) auth() ([]nats.Option, error) {
	var opts []nats.Option
	if c.Credentials != "" {
		opts = append(opts, nats.UserCredentials(c.Credentials))
	}
	if c.User != "" {
		opts = append(opts, nats.UserInfo(c.User, c.Password))
	}
	if c.Token != "" {
		opts = append(opts, nats.Token(c.Token))
	}
	if c.CA != "" {
		opts = append(opts, nats.RootCAs(c.CA))
	}
	if c.Cert != "" {
		if _, err := tls.LoadX509KeyPair(c.Cert, c.Key); err != nil {
			return nil, fmt.Errorf("nats: client certificate %s with key %s: %w", c.Cert, c.Key, err)
		}
		opts = append(opts, nats.ClientCert(c.Cert, c.Key))
	}
	return opts, nil
}

// reconnectDelay grows from half a second to half a minute, and a random half
// of it keeps many boards from calling at the same moment.
func reconnectDelay(attempts int) time.Duration {
	d := min(30*time.Second, time.Second<<min(max(attempts, 0), 5))
	return d/2 + rand.N(d/2)
}
