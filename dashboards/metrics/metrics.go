package metrics

import (
	"log/slog"
	"net/http"
	"runtime"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"github.com/nightclamp/nightclamp/press"
)

// Config is what the metrics need from the daemon.
type Config struct {
	// Status returns what is known about every press, newest values. It is
	// called once a scrape and must not block.
	Status func() []press.Status
	// Now is the clock that the samples are stamped with; nil: the wall clock.
	Now func() time.Time
	// Version and Revision name the build.
	Version, Revision string
	// Log hears of a scrape that could not be served whole; nil: nobody.
	Log *slog.Logger
}

// NewRegistry returns a registry of its own that holds everything nightclamp
// tells Prometheus: the presses, the build, the Go runtime and the process.
func NewRegistry(cfg Config) *prometheus.Registry {
	r := prometheus.NewRegistry()
	r.MustRegister(
		NewCollector(cfg),
		collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}),
	)
	return r
}

// Handler serves a registry. A collector that fails costs its own series, not
// the scrape.
func Handler(r *prometheus.Registry, log *slog.Logger) http.Handler {
	opts := promhttp.HandlerOpts{
		ErrorHandling:       promhttp.ContinueOnError,
		MaxRequestsInFlight: 4,
		Timeout:             10 * time.Second,
		Registry:            r,
	}
	if log != nil {
		opts.ErrorLog = slog.NewLogLogger(log.Handler(), slog.LevelWarn)
	}
	return promhttp.HandlerFor(r, opts)
}

// Collector turns the statuses of the presses into metrics at each scrape. It
// keeps nothing between scrapes.
type Collector struct {
	cfg   Config
	build prometheus.Metric
	table []family
}

// NewCollector returns a Collector. Config.Status must be set.
func NewCollector(cfg Config) *Collector {
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	return &Collector{
		cfg: cfg,
		build: prometheus.MustNewConstMetric(buildInfo.desc(), prometheus.GaugeValue, 1,
			cfg.Version, cfg.Revision, runtime.Version()),
		table: families(),
	}
}

// Describe implements [prometheus.Collector].
func (c *Collector) Describe(ch chan<- *prometheus.Desc) {
	ch <- buildInfo.desc()
	for _, f := range c.table {
		ch <- f.desc()
	}
}

// Collect implements [prometheus.Collector].
func (c *Collector) Collect(ch chan<- prometheus.Metric) {
	ch <- c.build
	now := c.cfg.Now()
	seen := make(map[string]bool)
	for _, st := range c.cfg.Status() {
		key := st.Site + "\x00" + st.Press
		if seen[key] { // two presses of one name would spoil the whole scrape
			continue
		}
		seen[key] = true
		for _, f := range c.table {
			f.collect(ch, st, now)
		}
	}
}
