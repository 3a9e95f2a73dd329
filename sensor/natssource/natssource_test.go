package natssource

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/line"
)

// serve runs a real server on a free port of loopback.
func serve(t *testing.T, change func(*server.Options)) *server.Server {
	t.Helper()
	o := &server.Options{Host: "127.0.0.1", Port: -1, NoLog: true, NoSigs: true, StoreDir: t.TempDir()}
	if change != nil {
		change(o)
	}
	s, err := server.NewServer(o)
	if err != nil {
		t.Fatal(err)
	}
	s.Start()
	if !s.ReadyForConnections(10 * time.Second) {
		t.Fatal("the server does not start")
	}
	t.Cleanup(func() {
		s.Shutdown()
		s.WaitForShutdown()
	})
	return s
}

func config(s *server.Server) Config {
	c := Defaults()
	c.URL, c.Subject = s.ClientURL(), "shed.deck.bag"
	return c
}

func open(t *testing.T, c Config) *Source {
	t.Helper()
	if err := c.Check(); err != nil {
		t.Fatal(err)
	}
	s, err := Open(t.Context(), c, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func publish(t *testing.T, s *server.Server, lines ...string) {
	t.Helper()
	conn, err := nats.Connect(s.ClientURL())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	for _, l := range lines {
		if err := conn.Publish("shed.deck.bag", []byte(l)); err != nil {
			t.Fatal(err)
		}
	}
	if err := conn.Flush(); err != nil {
		t.Fatal(err)
	}
}

func TestMessages(t *testing.T) {
	s := serve(t, nil)
	source := open(t, config(s))
	publish(t, s, `{"bag_pa":16000,"glueline_c":12.5}`)
	got, err := source.Read(t.Context())
	if err != nil || got.Bag != 16000 || got.GlueLine != 12.5 || got.Knows(sensor.Air) {
		t.Errorf("got %+v, %v", got, err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := source.Read(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("the same message twice: %v", err)
	}
}

func TestUnreadableMessages(t *testing.T) {
	s := serve(t, nil)
	source := open(t, config(s))
	publish(t, s, strings.Split(strings.Repeat("on,", 12), ",")...)
	if _, err := source.Read(t.Context()); !errors.Is(err, line.ErrNoLine) {
		t.Errorf("got %v", err)
	}
}

func TestOpenTeaches(t *testing.T) {
	closed := config(serve(t, func(o *server.Options) { o.Username, o.Password = "press", "secret" }))
	for name, c := range map[string]Config{
		"no server": {URL: "nats://127.0.0.1:1", Subject: "shed.deck.bag"},
		"no user":   closed,
	} {
		_, err := Open(t.Context(), c, time.Now)
		if err == nil || !strings.Contains(err.Error(), "are url, user and credentials right?") {
			t.Errorf("%s: got %v", name, err)
		}
	}
	closed.User, closed.Password = "press", "secret"
	open(t, closed)
}

// A subject that the user may not read is an error when it is opened, not a
// silence later.
func TestForbiddenSubject(t *testing.T) {
	s := serve(t, func(o *server.Options) {
		o.Users = []*server.User{{Username: "bag", Password: "x", Permissions: &server.Permissions{
			Subscribe: &server.SubjectPermission{Allow: []string{"other", "_INBOX.>"}},
		}}}
	})
	c := config(s)
	c.User, c.Password = "bag", "x"
	if _, err := Open(t.Context(), c, time.Now); !errors.Is(err, nats.ErrPermissionViolation) {
		t.Errorf("got %v", err)
	}
}

func TestCheck(t *testing.T) {
	good := Defaults()
	good.Subject = "shed.deck.bag"
	if err := good.Check(); err != nil {
		t.Error(err)
	}
	for name, spoil := range map[string]func(*Config){
		"no subject": func(c *Config) { c.Subject = "" },
		"topic":      func(c *Config) { c.Subject = "shed/deck/bag" },
		"all":        func(c *Config) { c.Subject = "shed.>" },
		"gap":        func(c *Config) { c.Subject = "shed..bag" },
		"pace":       func(c *Config) { c.Pace = 0 },
		"nothing":    func(c *Config) { c.Gives = nil },
		"reads":      func(c *Config) { c.Gives = []sensor.Quantity{"x"} },
		"columns":    func(c *Config) { c.Columns = []string{"x"} },
	} {
		c := good
		spoil(&c)
		if c.Check() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
