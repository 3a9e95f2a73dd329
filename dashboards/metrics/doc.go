// Package metrics tells Prometheus what every press is doing.
//
// Call [NewRegistry] with a function that returns the statuses of the presses
// and mount [Handler] at /metrics:
//
//	registry := metrics.NewRegistry(metrics.Config{Status: watch.Status, Version: version})
//	mux.Handle("GET /metrics", metrics.Handler(registry, log))
//
// The registry is its own; nothing is put into the default one. The statuses
// are read at each scrape and nothing is kept between two scrapes, so an idle
// daemon spends nothing on metrics that nobody asks for.
//
// Names and units follow the naming rules of Prometheus: pascals, seconds,
// degrees Celsius and ratios, counters that end in _total, and no label whose
// values grow without bound: site and press come from the config, sensor and
// glue too, alert from the table of alerts. Runs and works have no label. A
// value that is not known has no series, rather than a zero or a NaN that a
// rule would trip over. Bounds are metrics of their own (…_low_…, …_high_…),
// since a sum over a label "bound" would mean nothing.
//
// Times ahead (…_remaining_…) count from the newest sample and stop at 0. They
// are left out when the moment does not come within the forecast: a bag that
// keeps its vacuum has no floor crossing.
//
// README.md lists every metric; a test holds the list to the code.
package metrics
