package past

import (
	"context"
	"fmt"
	"sync"
	"time"

	"golang.org/x/sync/singleflight"

	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press/record"
)

const (
	// mostRemembered is how many charts are kept in memory, about 0.1 MB each.
	mostRemembered = 8
	// warmed is how many of the newest runs are worked out while somebody looks at
	// the list, because that is where they look next.
	warmed = 2
	// pagePoints is how many points the page asks for.
	pagePoints = 800
)

// chart is one answer of RunHistory for a whole run that has ended.
type chart struct {
	run    string
	ended  time.Time
	points int
}

// remembered keeps charts of runs that have ended: they say the same for ever,
// and to work one out takes a slow board a second.
type remembered struct {
	mu      sync.Mutex
	charts  map[chart]web.Series
	order   []chart // oldest first
	warming bool
	under   singleflight.Group
}

// chart is the one that is remembered, or else what workOut says; those who ask
// for the same at once wait for one.
func (m *remembered) chart(c chart, workOut func() (web.Series, error)) (web.Series, error) {
	m.mu.Lock()
	known, ok := m.charts[c]
	m.mu.Unlock()
	if ok {
		return known, nil
	}
	said, err, _ := m.under.Do(fmt.Sprint(c), func() (any, error) {
		s, err := workOut()
		if err == nil {
			m.put(c, s)
		}
		return s, err
	})
	s, _ := said.(web.Series)
	return s, err
}

func (m *remembered) put(c chart, s web.Series) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.charts == nil {
		m.charts = map[chart]web.Series{}
	}
	if _, known := m.charts[c]; !known {
		m.order = append(m.order, c)
	}
	m.charts[c] = s
	if len(m.order) > mostRemembered {
		delete(m.charts, m.order[0])
		m.order = m.order[1:]
	}
}

// begin reports whether the caller is to warm up: one does so at a time.
func (m *remembered) begin() bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	mine := !m.warming
	m.warming = true
	return mine
}

func (m *remembered) end() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.warming = false
}

// warm works out the charts of the newest runs that have ended. What cannot be
// read is said to whoever asks for it.
func (r *Records) warm(ctx context.Context, runs []record.Run) {
	defer r.memory.end()
	n := 0
	for _, run := range runs {
		if run.Ended.IsZero() {
			continue
		}
		if _, err := r.RunHistory(ctx, run.ID, time.Time{}, time.Time{}, pagePoints); err != nil {
			return
		}
		if n++; n == warmed {
			return
		}
	}
}
