package web

import (
	"context"
	_ "embed"
	"log/slog"
	"net/http"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// Source is what the page asks of the daemon. All methods may be called from
// many goroutines at once.
type Source interface {
	// Status returns what is known about every press, in the order in which
	// they are shown. It does not block.
	Status() []press.Status
	// Subscribe returns a channel that gets a value after a status changed. It
	// may leave out values while the last one was not taken. It is closed when
	// ctx ends or the daemon stops.
	Subscribe(ctx context.Context) <-chan struct{}
	// History returns what was recorded of a press from one moment to another,
	// thinned to at most maxPoints points.
	History(ctx context.Context, press string, from, to time.Time, maxPoints int) (Series, error)
}

// Config is what the page needs. Only Source must be set.
type Config struct {
	Source  Source
	Metrics http.Handler  // served at /metrics; nil: not there
	Display units.Display // how quantities and times are shown
	Version string        // of the daemon
	Log     *slog.Logger  // nil: silent

	Board   func() []press.Alert    // what is wrong with the board itself; nil: nobody looks
	Control Controller              // carries out orders; nil: the page only shows
	Records Records                 // the runs of the past; nil: the page has none
	Keeping Keeping                 // what can be done with them; nil: nothing
	Glues   func() []Datasheet      // what can be spread; nil: the page offers no choice
	InForce func() (InForce, error) // the settings; nil: they are not shown
	Access  Access                  // who may see and do what
	Replies Replies                 // takes answers by the links in alerts; nil: there are no such links

	// Hosts are names by which browsers may reach the page, besides localhost,
	// this machine's name and bare IP addresses. Any other name in a request is
	// refused: it is how a hostile page would reach a server on the inside (DNS
	// rebinding).
	Hosts []string

	// Now is the clock that the samples are stamped with, and Speed how many of
	// its seconds pass in a real one; nil and 0: the wall clock. (The demo's
	// clock is a fast one.)
	Now   func() time.Time
	Speed float64

	// StaleAfter is the age of the newest sample, in real time, from which the
	// page says that it is stale; 0: 15 s.
	StaleAfter time.Duration
}

func (c Config) withDefaults() Config {
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.Speed <= 0 {
		c.Speed = 1
	}
	if c.StaleAfter <= 0 {
		c.StaleAfter = 15 * time.Second
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	return c
}

// server holds what the handlers share.
type server struct {
	Config
	streams chan struct{} // one place for each open stream
	zipping chan struct{} // one place for the archive that is being made
	gate    *gate
}

// New returns the handler of the page, the API and the metrics.
func New(cfg Config) http.Handler {
	s := &server{Config: cfg.withDefaults(), streams: make(chan struct{}, maxStreams), zipping: make(chan struct{}, 1), gate: newGate(cfg.Access)}
	mux := http.NewServeMux()
	for _, r := range s.routes() {
		mux.HandleFunc(r.pattern, r.handle)
	}
	mux.Handle("GET /", pageAssets())
	mux.HandleFunc("GET /healthz", s.healthz)
	mux.HandleFunc("GET /api/", func(w http.ResponseWriter, r *http.Request) {
		s.fail(w, r, http.StatusNotFound, "no such path in the API; see /api/v1/openapi.json")
	})
	if s.Metrics != nil {
		mux.Handle("GET /metrics", s.Metrics)
	}
	return s.hosts(headers(http.NewCrossOriginProtection().Handler(s.guard(s.invite(mux)))))
}

// route is one path of the API.
type route struct {
	pattern string
	handle  http.HandlerFunc
}

// routes is the API; openapi.json describes it, and a test holds the two
// together.
func (s *server) routes() []route {
	all := []route{
		{"GET /api/v1/openapi.json", s.description},
		{"GET /api/v1/status", s.status},
		{"GET /api/v1/config", s.settings},
		{"GET /api/v1/stream", s.stream},
		{"GET /api/v1/presses/{press}/history", s.history},
		{"GET /api/v1/glues", s.glues},
		{"GET /api/v1/glues/{glue}", s.glue},
		{"GET /api/v1/session", s.session},
		{"POST /api/v1/session", s.login},
		{"DELETE /api/v1/session", s.logout},
	}
	if s.InForce != nil {
		all = append(all, route{"GET /api/v1/settings", s.inForce})
	}
	if s.Control != nil {
		all = append(all, s.orders()...)
	}
	if s.Records != nil {
		all = append(all, s.past()...)
	}
	if s.Replies != nil {
		all = append(all, s.replies()...)
	}
	if s.Keeping != nil {
		all = append(all, s.keeping()...)
	}
	return all
}

//go:embed openapi.json
var description []byte

func (s *server) description(w http.ResponseWriter, r *http.Request) { answer(w, r, description) }

// Server returns an HTTP server for a handler with limits on how long a client
// may take. Streams end when ctx does, so that Shutdown does not wait for them.
func Server(ctx context.Context, h http.Handler, log *slog.Logger) *http.Server {
	return &http.Server{
		Handler:           h,
		BaseContext:       baseContext(ctx),
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       15 * time.Second,
		WriteTimeout:      30 * time.Second, // a stream extends its own
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    16 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
}

func (s *server) healthz(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	_, _ = w.Write([]byte("ok\n")) // a client that went away needs no answer
}
