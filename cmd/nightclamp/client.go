package main

import (
	"context"
	"encoding/json"
	"fmt"
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
	return cfg, nil
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
	return wire.Config{
		Site: cfg.Site, URL: cfg.NATS.URL, Credentials: cfg.NATS.Credentials,
		User: cfg.NATS.User, Password: cfg.NATS.Password.Value(), Token: cfg.NATS.Token.Value(),
		CA: cfg.NATS.CA, Cert: cfg.NATS.Cert, Key: cfg.NATS.Key,
		Host: host, Port: port, NoJetStream: !cfg.NATS.JetStream, Version: version(),
	}
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
