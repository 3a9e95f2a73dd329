package wire

import (
	"context"
	"fmt"
	"log/slog"
	"strings"
	"time"

	"github.com/nats-io/nats-server/v2/server"
)

// startServer runs a NATS server inside the process. It is sized for a small
// board: a handful of clients, messages of a few kilobytes.
func startServer(cfg Config, log *slog.Logger) (*server.Server, error) {
	opts := &server.Options{
		ServerName:             "nightclamp-" + cfg.site(),
		Host:                   cfg.host(),
		Port:                   cfg.port(),
		NoLog:                  true, // nothing of its own: SetLogger below
		NoSigs:                 true, // signals are the daemon's
		NoSystemAccount:        cfg.StoreDir == "",
		NoSublistCache:         true,
		MaxConn:                128,
		MaxPayload:             256 << 10,
		MaxPending:             4 << 20, // a reader that slow is cut off
		MaxClosedClients:       8,
		WriteDeadline:          5 * time.Second,
		Username:               cfg.User,
		Password:               cfg.Password,
		Authorization:          cfg.Token,
		JetStream:              cfg.StoreDir != "",
		StoreDir:               cfg.StoreDir,
		JetStreamMaxMemory:     8 << 20,
		JetStreamMaxStore:      256 << 20,
		DisableJetStreamBanner: true,
	}
	if cfg.MQTTPort != 0 {
		opts.MQTT.Host, opts.MQTT.Port = cfg.MQTTHost, cfg.MQTTPort
		opts.MQTT.ConsumerMemoryStorage = true // spares the flash; a session outlives no reboot
	}
	srv, err := server.NewServer(opts)
	if err != nil {
		return nil, fmt.Errorf("nats: embedded server: %w", err)
	}
	said := &serverLog{log: log, fatal: make(chan string, 1)}
	srv.SetLoggerV2(said, false, false, false)
	srv.Start()
	if err := awaitServer(srv, said, cfg); err != nil {
		srv.Shutdown()
		srv.WaitForShutdown()
		return nil, err
	}
	return srv, nil
}

// awaitServer returns once the server listens, or why it cannot. Start has
// tried the port by the time it returns.
func awaitServer(srv *server.Server, said *serverLog, cfg Config) error {
	const patience = 10 * time.Second
	refusal := func(why string) error {
		if strings.Contains(why, "listening on port") {
			return fmt.Errorf("nats: cannot listen on %s port %d (%s): is another nightclamp or NATS server running? "+
				"stop it, give nats.listen a free port, or set nats.url to use that server", cfg.host(), cfg.port(), why)
		}
		if cfg.StoreDir != "" {
			return fmt.Errorf("nats: embedded server with store %s: %s; set nats.store_dir to a folder that nightclamp may write, "+
				"or leave it out to do without JetStream", cfg.StoreDir, why)
		}
		return fmt.Errorf("nats: embedded server on %s: %s", cfg.host(), why)
	}
	select {
	case why := <-said.fatal:
		return refusal(why)
	default:
	}
	if srv.ReadyForConnections(patience) {
		return nil
	}
	select {
	case why := <-said.fatal:
		return refusal(why)
	default:
		return fmt.Errorf("nats: embedded server not ready after %s; set nats.url to use another", patience)
	}
}

// serverLog passes on what the embedded server has to say. It chats at every
// start; that is for debugging. What it calls fatal must not end the process.
type serverLog struct {
	log   *slog.Logger
	fatal chan string
}

func (l *serverLog) say(level slog.Level, format string, v []any) {
	if ctx := context.Background(); l.log.Enabled(ctx, level) {
		l.log.Log(ctx, level, "nats server", "said", fmt.Sprintf(format, v...))
	}
}

// Noticef is for debugging: the server chats at every start.
func (l *serverLog) Noticef(format string, v ...any) { l.say(slog.LevelDebug, format, v) }

// Warnf passes a warning on.
func (l *serverLog) Warnf(format string, v ...any) { l.say(slog.LevelWarn, format, v) }

// Errorf passes an error on.
func (l *serverLog) Errorf(format string, v ...any) { l.say(slog.LevelError, format, v) }

// Debugf passes a detail on.
func (l *serverLog) Debugf(format string, v ...any) { l.say(slog.LevelDebug, format, v) }

// Tracef passes a protocol line on.
func (l *serverLog) Tracef(format string, v ...any) { l.say(slog.LevelDebug-4, format, v) }

// Fatalf keeps the reason for [awaitServer]; the process goes on.
func (l *serverLog) Fatalf(format string, v ...any) {
	select {
	case l.fatal <- fmt.Sprintf(format, v...):
	default:
		l.say(slog.LevelError, format, v)
	}
}
