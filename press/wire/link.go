package wire

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"sync"
	"sync/atomic"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"golang.org/x/sync/errgroup"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor"
)

// Link is the daemon's end of the wire. Its methods may be called from any
// goroutine and never wait for the network: what cannot go out at once is
// dropped (samples, status) or kept in the backlog (events, alerts).
type Link struct {
	cfg     Config
	log     *slog.Logger
	nc      *nats.Conn
	srv     *server.Server // nil when an external server is used
	stream  streamer
	backlog Backlog

	up      atomic.Bool
	made    chan struct{} // closed when Connect is through
	kick    chan struct{} // something was put, or the link came up
	plain   chan packet   // samples, status, heartbeats on their way out
	dropped atomic.Uint64
	started time.Time

	mu      sync.Mutex
	samples map[string]time.Time  // newest sample, by press
	sent    map[string]statusSent // newest status sent, by press
	lastErr string                // of the newest attempt to connect
	closers []func()              // run by Close, last first
}

type packet struct {
	subject string
	data    []byte
}

// Connect starts the embedded server, or begins to join the configured one,
// and returns at once: a server that cannot be reached is tried for ever.
// An error is about the configuration, or a port that is taken. The caller
// must call [Link.Run], which does the sending, and [Link.Close].
func Connect(ctx context.Context, cfg Config, log *slog.Logger) (*Link, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := cfg.Check(); err != nil {
		return nil, err
	}
	l := &Link{
		cfg: cfg, log: log, backlog: cfg.Backlog,
		made: make(chan struct{}),
		kick: make(chan struct{}, 1), plain: make(chan packet, 256), started: time.Now(),
		samples: map[string]time.Time{}, sent: map[string]statusSent{},
	}
	if l.backlog == nil {
		l.backlog = NewMemory(4096)
	}
	opts, err := l.options()
	if err != nil {
		return nil, err
	}
	if cfg.URL == "" {
		if l.srv, err = startServer(cfg, log); err != nil {
			return nil, err
		}
		opts = append(opts, nats.InProcessServer(l.srv))
	}
	// The handlers run in goroutines of nats.go as soon as it connects; they wait
	// until the link knows its connection.
	defer close(l.made)
	if l.nc, err = nats.Connect(l.dialURL(), opts...); err != nil {
		l.stopServer()
		return nil, fmt.Errorf("nats: %s: %w", l.URL(), err)
	}
	l.stream = streamer{cfg: cfg, log: log, nc: l.nc}
	if l.nc.IsConnected() {
		l.linkUp()
	}
	return l, nil
}

// whenMade waits until Connect is through, and reports whether it made a link.
func (l *Link) whenMade() bool {
	<-l.made
	return l.nc != nil
}

func (l *Link) options() ([]nats.Option, error) {
	opts, err := l.cfg.auth()
	if err != nil {
		return nil, err
	}
	if l.cfg.URL != "" {
		opts = append(opts, nats.SkipHostLookup(), nats.SetCustomDialer(&laterDialer{}), nats.IgnoreAuthErrorAbort())
	}
	return append(opts,
		nats.Name("nightclamp "+l.cfg.site()),
		nats.MaxReconnects(-1),
		nats.RetryOnFailedConnect(true),
		nats.CustomReconnectDelay(reconnectDelay),
		nats.ReconnectBufSize(-1), // nothing is kept back here; see Backlog
		nats.PingInterval(20*time.Second),
		nats.ConnectHandler(l.connected),
		nats.ReconnectHandler(l.connected),
		nats.DisconnectErrHandler(l.linkDown),
		nats.ReconnectErrHandler(l.linkFailed),
		nats.ErrorHandler(l.asyncError),
	), nil
}

func (l *Link) dialURL() string {
	if l.srv != nil {
		return l.srv.ClientURL()
	}
	return l.cfg.URL
}

// URL is where a client finds the server, without anything secret in it.
func (l *Link) URL() string { return redacted(l.dialURL()) }

// Up reports whether the server answers.
func (l *Link) Up() bool { return l.up.Load() }

// Dropped is how many samples, status messages and heartbeats were not sent.
func (l *Link) Dropped() uint64 { return l.dropped.Load() }

// Held is how many events and alerts wait for the server.
func (l *Link) Held() int { return l.backlog.Len() }

func (l *Link) connected(*nats.Conn) {
	if l.whenMade() {
		l.linkUp()
	}
}

func (l *Link) linkUp() {
	l.mu.Lock()
	l.lastErr = ""
	l.mu.Unlock()
	if l.up.Swap(true) {
		return
	}
	l.log.Info("nats connected", "url", redacted(l.nc.ConnectedUrl()), "held_back", l.Held())
	l.stream.forget()
	l.wake()
}

func (l *Link) linkDown(_ *nats.Conn, err error) {
	if !l.whenMade() || !l.up.Swap(false) || l.nc.IsClosed() {
		return
	}
	l.log.Warn("nats connection lost; events and alerts are held back", "url", l.URL(), "err", err)
}

// linkFailed tells why the server cannot be reached, once for each reason.
func (l *Link) linkFailed(_ *nats.Conn, err error) {
	if errors.Is(err, errLater) || !l.whenMade() {
		return
	}
	l.mu.Lock()
	news := err.Error() != l.lastErr
	l.lastErr = err.Error()
	l.mu.Unlock()
	if news {
		l.log.Warn("nats server cannot be reached; trying on", "url", l.URL(), "err", err)
	}
}

func (l *Link) asyncError(_ *nats.Conn, _ *nats.Subscription, err error) {
	if !l.whenMade() || l.stream.refused(err) {
		return
	}
	l.log.Error("nats error", "url", l.URL(), "err", err)
}

func (l *Link) wake() {
	select {
	case l.kick <- struct{}{}:
	default:
	}
}

// Sample publishes one reading; run is empty when the press is idle.
func (l *Link) Sample(pressName, run string, s sensor.Sample) {
	l.mu.Lock()
	l.samples[pressName] = s.Time
	l.mu.Unlock()
	if !l.up.Load() {
		l.dropped.Add(1)
		return
	}
	l.post(SampleSubject(l.cfg.site(), pressName), appendSample(nil, l.cfg.site(), pressName, run, s))
}

// Event publishes an event once the server can take it.
func (l *Link) Event(ctx context.Context, ev press.Event) error {
	return l.put(ctx, eventMessage(ev))
}

// Alert publishes a change in the life of an alert once the server can take it.
func (l *Link) Alert(ctx context.Context, a press.Alert) error {
	m, err := alertMessage(a)
	if err != nil {
		return err
	}
	return l.put(ctx, m)
}

func (l *Link) put(ctx context.Context, m Message) error {
	err := l.backlog.Put(ctx, m)
	l.wake()
	return err
}

func (l *Link) post(subject string, data []byte) {
	select {
	case l.plain <- packet{subject, data}:
	default:
		l.dropped.Add(1)
	}
}

// Run sends until ctx ends, and then for at most a second what still waits.
func (l *Link) Run(ctx context.Context) error {
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() error { return l.sendPlain(ctx) })
	g.Go(func() error { return l.sendBacklog(ctx) })
	g.Go(func() error { return l.beat(ctx) })
	err := g.Wait()
	if l.up.Load() {
		l.lastWords(context.WithoutCancel(ctx))
	}
	return err
}

// lastWords sends what was put while the parts of the daemon stopped.
func (l *Link) lastWords(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, time.Second)
	defer cancel()
	for {
		m, ok, err := l.backlog.Next(ctx)
		if err != nil || !ok || l.Send(ctx, m) != nil || l.backlog.Taken(ctx, m.ID) != nil {
			return
		}
	}
}

// sendPlain has its own goroutine because nats.go holds its lock while it
// dials, and no sample may wait for that.
func (l *Link) sendPlain(ctx context.Context) error {
	for {
		select {
		case <-ctx.Done():
			return nil
		case p := <-l.plain:
			if !l.up.Load() || l.nc.Publish(p.subject, p.data) != nil {
				l.dropped.Add(1)
			}
		}
	}
}

func (l *Link) beat(ctx context.Context) error {
	tick := time.NewTicker(l.cfg.heartbeat())
	defer tick.Stop()
	for {
		if err := l.postHeartbeat(); err != nil {
			return err
		}
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
	}
}

func (l *Link) postHeartbeat() error {
	l.mu.Lock()
	samples := maps.Clone(l.samples)
	l.mu.Unlock()
	data, err := json.Marshal(Heartbeat{
		Schema: press.Schema, Time: time.Now().UTC(), Site: l.cfg.site(), Version: l.cfg.Version,
		UptimeS: time.Since(l.started).Seconds(), Held: l.Held(), Samples: samples,
	})
	if err != nil {
		return fmt.Errorf("nats: heartbeat: %w", err)
	}
	l.post(HeartbeatSubject(l.cfg.site()), data)
	return nil
}

// Close ends the service, the connection and the embedded server, in that order.
func (l *Link) Close() {
	l.mu.Lock()
	closers := l.closers
	l.closers = nil
	l.mu.Unlock()
	for i := len(closers) - 1; i >= 0; i-- {
		closers[i]()
	}
	if l.up.Load() {
		if err := l.nc.FlushTimeout(time.Second); err != nil {
			l.log.Warn("nats: the last messages may be lost", "err", err)
		}
	}
	l.nc.Close()
	l.stopServer()
}

func (l *Link) stopServer() {
	if l.srv == nil {
		return
	}
	l.srv.Shutdown()
	l.srv.WaitForShutdown()
}
