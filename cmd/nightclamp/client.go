package main

import (
	"context"
	"encoding/json"
	"fmt"
	"net"
	"net/url"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/cure/datasheets"
	"github.com/nightclamp/nightclamp/press/wire"
)

// config reads the config that --config names, or the usual places.
func (a *app) config() (*config.Config, error) {
	cfg, err := config.Load(a.configPath)
	if err != nil {
		return nil, usageError{err}
	}
	joinOwn(cfg)
	return cfg, nil
}

// joinOwn lets sensors that publish over NATS, and whose config names no server, be
// listened to where the daemon's own server is, with what lets one in there.
func joinOwn(cfg *config.Config) {
	for _, p := range cfg.Presses {
		for _, s := range p.Sensors {
			if _, named := s.Keys["url"]; s.Driver != "nats" || named {
				continue
			}
			s.Keys["url"] = ownServer(cfg.NATS)
			if cfg.NATS.Credentials != "" {
				s.Keys["credentials"] = cfg.NATS.Credentials
			}
		}
	}
}

// ownServer is the URL of the server that the daemon speaks through, with its
// secrets: it is handed to the driver alone.
func ownServer(n config.NATS) string {
	var user *url.Userinfo
	switch {
	case n.User != "":
		user = url.UserPassword(n.User, n.Password.Value())
	case n.Token != "":
		user = url.User(n.Token.Value())
	}
	if n.URL == "" {
		host, port := n.HostPort()
		if host == "" || net.ParseIP(host).IsUnspecified() {
			host = "127.0.0.1"
		}
		return (&url.URL{Scheme: "nats", User: user, Host: net.JoinHostPort(host, strconv.Itoa(port))}).String()
	}
	var all []string
	for text := range strings.SplitSeq(n.URL, ",") {
		u, err := url.Parse(strings.TrimSpace(text))
		if err != nil { // Load has refused it
			continue
		}
		u.User = user
		all = append(all, u.String())
	}
	return strings.Join(all, ",")
}

// client connects to the running daemon.
func (a *app) client(ctx context.Context) (*wire.Client, *config.Config, error) {
	cfg, err := a.config()
	if err != nil {
		return nil, nil, err
	}
	w := wireConfig(cfg)
	if cfg.Path == "" {
		w.Site = "" // no config says which site: whoever answers
	}
	client, err := wire.Dial(ctx, w)
	return client, cfg, err
}

func wireConfig(cfg *config.Config) wire.Config {
	host, port := cfg.NATS.HostPort()
	w := wire.Config{
		Site: cfg.Site, URL: cfg.NATS.URL, Credentials: cfg.NATS.Credentials,
		User: cfg.NATS.User, Password: cfg.NATS.Password.Value(), Token: cfg.NATS.Token.Value(),
		CA: cfg.NATS.CA, Cert: cfg.NATS.Cert, Key: cfg.NATS.Key,
		Host: host, Port: port, NoJetStream: !cfg.NATS.JetStream, Version: version(),
	}
	if w.MQTTHost, w.MQTTPort = cfg.NATS.MQTTHostPort(); w.MQTTPort != 0 {
		// MQTT's sessions need the store. Our own events stay out of it: the record has
		// them, and the flash is written once.
		w.StoreDir, w.NoJetStream = filepath.Join(cfg.Data, "nats"), true
	}
	return w
}

// sheets finds datasheets by name or path.
func (a *app) sheets() func(string) (*cure.Sheet, []byte, error) { return datasheets.Load }

// sheetsOf also looks among the user's own.
func sheetsOf(cfg *config.Config) func(string) (*cure.Sheet, []byte, error) {
	return func(name string) (*cure.Sheet, []byte, error) { return datasheets.Load(cfg.Glue(name)) }
}

// ownSheet is the text of the builder's own datasheet when name is the path of
// one: it is read here, because the daemon may not look into people's folders.
func (a *app) ownSheet(name string) (string, error) {
	if !strings.ContainsAny(name, `/\`) && !strings.HasSuffix(name, ".toml") {
		return "", nil
	}
	_, text, err := datasheets.Load(name)
	if err != nil {
		return "", usageError{err}
	}
	return string(text), nil
}

// printJSON prints v as one indented JSON value.
func (a *app) printJSON(v any) error {
	text, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.out, "%s\n", text)
	return err
}
