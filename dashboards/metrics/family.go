package metrics

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"github.com/nightclamp/nightclamp/press"
)

// family is one row of the table: a metric's name, its help and how its
// series are read from a status.
type family struct {
	name   string
	help   string
	kind   prometheus.ValueType
	labels []string // besides site and press
	read   func(in reading)
}

// reading is one status as it is turned into series of one family.
type reading struct {
	press.Status
	now  time.Time
	emit func(value press.Num, labels ...string)
}

// own lists the labels of every family that speaks of a press.
func (f family) own() []string {
	if f.read == nil {
		return f.labels
	}
	return append([]string{"site", "press"}, f.labels...)
}

func (f family) desc() *prometheus.Desc {
	return prometheus.NewDesc(f.name, f.help, f.own(), nil)
}

// collect sends the series that are known. A series of the same labels is
// sent once: a second one would be an error of the whole scrape.
func (f family) collect(ch chan<- prometheus.Metric, st press.Status, now time.Time) {
	desc := f.desc()
	var seen map[string]bool
	f.read(reading{Status: st, now: now, emit: func(value press.Num, labels ...string) {
		if !value.Known() {
			return
		}
		if len(labels) > 0 {
			key := labels[0]
			if seen[key] {
				return
			}
			if seen == nil {
				seen = make(map[string]bool)
			}
			seen[key] = true
		}
		all := append([]string{st.Site, st.Press}, labels...)
		ch <- prometheus.MustNewConstMetric(desc, f.kind, float64(value), all...)
	}})
}

func gauge(name, help string, read func(in reading), labels ...string) family {
	return family{name: name, help: help, kind: prometheus.GaugeValue, labels: labels, read: read}
}

func counter(name, help string, read func(in reading), labels ...string) family {
	return family{name: name, help: help, kind: prometheus.CounterValue, labels: labels, read: read}
}

func yes(on bool) press.Num {
	if on {
		return 1
	}
	return 0
}

// ahead is how long after the newest sample t comes, s: 0 when it is past,
// unknown when it does not come.
func (in reading) ahead(t time.Time) press.Num {
	if t.IsZero() || in.Time.IsZero() {
		return press.Unknown()
	}
	return press.Num(max(0, t.Sub(in.Time).Seconds()))
}

// since is how long ago t was by the clock of the samples, s.
func (in reading) since(t time.Time) press.Num {
	if t.IsZero() {
		return press.Unknown()
	}
	return press.Num(in.now.Sub(t).Seconds())
}
