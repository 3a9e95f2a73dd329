package deploy_test

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/wire"
)

// shop starts a NATS server on nats.conf, on a free loopback port.
func shop(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("nats.conf")
	if err != nil {
		t.Fatal(err)
	}
	const store = "/var/lib/nats/jetstream"
	if !strings.Contains(string(text), store) {
		t.Fatalf("nats.conf does not keep its store in %s", store)
	}
	file := filepath.Join(t.TempDir(), "nats.conf")
	if err := os.WriteFile(file, []byte(strings.ReplaceAll(string(text), store, t.TempDir())), 0o600); err != nil {
		t.Fatal(err)
	}
	options, err := server.ProcessConfigFile(file)
	if err != nil {
		t.Fatal(err)
	}
	options.Host, options.Port, options.NoSigs, options.NoLog = "127.0.0.1", -1, true, true
	s, err := server.NewServer(options)
	if err != nil {
		t.Fatal(err)
	}
	s.Start()
	t.Cleanup(func() { s.Shutdown(); s.WaitForShutdown() })
	if !s.ReadyForConnections(10 * time.Second) {
		t.Fatal("the server does not come up")
	}
	return s.ClientURL()
}

// controller answers status and nothing else.
type controller struct{ wire.Controller }

func (controller) Status(context.Context, string) ([]press.Status, error) {
	return []press.Status{{Press: "deck", Sentence: "Holding."}}, nil
}

// The three users of nats.conf may do what they are for.
func TestNATSUsers(t *testing.T) {
	url := shop(t)
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()

	board, err := wire.Connect(ctx, wire.Config{Site: "shed", URL: url, User: "board", Password: "change-me-1"}, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	defer board.Close()
	if err := board.Serve(controller{}); err != nil {
		t.Fatal(err)
	}
	running, stop := context.WithCancel(ctx)
	ended := make(chan error, 1)
	go func() { ended <- board.Run(running) }()
	defer func() { stop(); <-ended }()

	builder, err := nats.Connect(url, nats.UserInfo("builder", "change-me-2"))
	if err != nil {
		t.Fatal(err)
	}
	defer builder.Close()
	wall, denied := onTheWall(t, url)
	seen, err := wall.SubscribeSync("nightclamp.>")
	if err != nil {
		t.Fatal(err)
	}
	if err := wall.Flush(); err != nil {
		t.Fatal(err)
	}

	// The board publishes an event; the wall sees it and the stream keeps it.
	now := time.Now()
	if err := board.Event(ctx, press.Event{Time: now, Site: "shed", Press: "deck", Run: "deck-1", Kind: press.PulldownStarted}); err != nil {
		t.Fatal(err)
	}
	if err := waitFor(ctx, seen, "nightclamp.shed.deck.event.pulldown_started"); err != nil {
		t.Error(err)
	}
	js, err := jetstream.New(builder)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := js.OrderedConsumer(ctx, wire.StreamName, jetstream.OrderedConsumerConfig{})
	if err != nil {
		t.Fatalf("builder reads the stream: %v", err)
	}
	m, err := kept.Next(jetstream.FetchMaxWait(10 * time.Second))
	if err != nil || m.Subject() != "nightclamp.shed.deck.event.pulldown_started" || m.Headers().Get(nats.MsgIdHdr) == "" {
		t.Errorf("the stream's copy of the event: %+v, %v", m, err)
	}

	// The builder gives orders; the wall may not.
	client, err := wire.Dial(ctx, wire.Config{URL: url, User: "builder", Password: "change-me-2"})
	if err != nil {
		t.Fatal(err)
	}
	defer client.Close()
	if st, err := client.Status(ctx, ""); err != nil || len(st) != 1 || st[0].Sentence != "Holding." {
		t.Errorf("builder asks for the status: %+v, %v", st, err)
	}
	if err := errors.Join(wall.Publish("do.nightclamp.shed.release", []byte("{}")), wall.Flush()); err != nil {
		t.Fatal(err)
	}
	select {
	case err := <-denied:
		if !errors.Is(err, nats.ErrPermissionViolation) {
			t.Errorf("the wall gives an order: %v", err)
		}
	case <-ctx.Done():
		t.Error("nobody stopped the wall from giving an order")
	}
}

func onTheWall(t *testing.T, url string) (*nats.Conn, <-chan error) {
	t.Helper()
	denied := make(chan error, 1)
	wall, err := nats.Connect(url, nats.UserInfo("wall", "change-me-3"), nats.ErrorHandler(func(_ *nats.Conn, _ *nats.Subscription, err error) {
		select {
		case denied <- err:
		default:
		}
	}))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(wall.Close)
	return wall, denied
}

// waitFor reads until a message on the subject comes.
func waitFor(ctx context.Context, sub *nats.Subscription, subject string) error {
	for {
		m, err := sub.NextMsgWithContext(ctx)
		if err != nil {
			return err
		}
		if m.Subject == subject {
			return nil
		}
	}
}

// Nobody gets in without a name.
func TestNATSStrangers(t *testing.T) {
	if nc, err := nats.Connect(shop(t)); err == nil {
		nc.Close()
		t.Error("a stranger was let in")
	}
}
