package alert

import (
	"fmt"
	"slices"
	"sync"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// Config is what a book must know.
type Config struct {
	Display units.Display // how its reader reads
}

// Book holds the alerts of one press. Its methods may be called from several
// goroutines.
type Book struct {
	cfg  Config
	rows []row

	mu      sync.Mutex
	open    []*entry // in the order of the table
	synced  bool     // agrees with what the status says holds
	falling fall
	going   trend
}

// entry is one problem that has not ended, whether people were told or not.
type entry struct {
	row        row
	ev         press.Event // what raised it
	quantities []string
	alert      press.Alert // its ID is empty until it has been told
	silent     bool        // a greater problem has swallowed it
	now        string      // its text as it would be said now; empty: as it was said
	nowAt      time.Time   // when that was written
}

func (e *entry) told() bool { return e.alert.ID != "" }

// NewBook returns an empty book.
func NewBook(cfg Config) *Book { return &Book{cfg: cfg, rows: table()} }

// Restore takes up the alerts that the record has active.
func (b *Book) Restore(active []press.Alert) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, a := range active {
		i := slices.IndexFunc(b.rows, func(r row) bool { return r.name == a.Name })
		if i < 0 || a.State == press.AlertCleared || b.find(a.Name) != nil {
			continue
		}
		b.add(&entry{row: b.rows[i], ev: press.Event{Time: a.RaisedAt, Site: a.Site, Press: a.Press, Run: a.Run}, alert: a})
	}
	b.synced = false
}

// Judge takes one event and the status after it, and returns the alerts that it
// changed. It is [Book.Advance] for a single event.
func (b *Book) Judge(ev press.Event, st press.Status) []press.Alert {
	return b.Advance([]press.Event{ev}, st)
}

// Advance takes the events of one sample, often none, and the status after it,
// and returns the alerts that changed, each in its new state. It is to be called
// about once a second of sample time even when nothing happens: some alerts wait
// to see what becomes of the bag, and some end by themselves.
func (b *Book) Advance(events []press.Event, st press.Status) []press.Alert {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.falling.add(st)
	b.going.add(st)
	c := changes{book: b, st: st}
	for _, ev := range events {
		c.take(ev)
	}
	b.sync(&c)
	c.look()
	c.expire()
	c.settle()
	return c.out
}

// sync makes the book agree with what the status says holds. What holds and is
// not in the book is raised: nothing may be missed because an event was. In a
// book that was just opened, what no longer holds is cleared.
func (b *Book) sync(c *changes) {
	for _, held := range c.st.Conditions {
		c.raise(eventOf(held, c.st))
	}
	if b.synced || c.st.Time.IsZero() {
		return
	}
	b.synced = true
	for _, e := range slices.Clone(b.open) {
		if len(e.row.clear) > 0 && !slices.ContainsFunc(c.st.Conditions, func(held press.Condition) bool {
			return slices.Contains(e.row.raise, held.Kind)
		}) {
			c.end(e, "over when the watch began again")
		}
	}
}

func (b *Book) find(name string) *entry {
	for _, e := range b.open {
		if e.row.name == name {
			return e
		}
	}
	return nil
}

// add keeps the open problems in the order of the table.
func (b *Book) add(e *entry) {
	b.open = append(b.open, e)
	slices.SortStableFunc(b.open, func(x, y *entry) int { return b.place(x) - b.place(y) })
}

func (b *Book) place(e *entry) int {
	return slices.IndexFunc(b.rows, func(r row) bool { return r.name == e.row.name })
}

func (b *Book) remove(e *entry) {
	b.open = slices.DeleteFunc(b.open, func(o *entry) bool { return o == e })
}

// swallowedBy returns the greater problem that e is part of.
func (b *Book) swallowedBy(e *entry) *entry {
	for _, o := range b.open {
		if o != e && slices.Contains(o.row.swallows, e.row.name) {
			return o
		}
	}
	return nil
}

// List returns the alerts that are active, the greatest problem first.
func (b *Book) List() []press.Alert {
	b.mu.Lock()
	defer b.mu.Unlock()
	var list []press.Alert
	for _, e := range b.open {
		if e.told() && !e.silent {
			list = append(list, e.alert)
		}
	}
	return list
}

// Active returns what the status of the press says of its alerts. The forecast in a
// text is the newest, not that of the message: beside the sentence it must name the
// same moments.
func (b *Book) Active() []press.AlertStatus {
	b.mu.Lock()
	defer b.mu.Unlock()
	var list []press.AlertStatus
	for _, e := range b.open {
		if !e.told() || e.silent {
			continue
		}
		a := e.alert
		if e.now != "" {
			a.Text = e.now
		}
		list = append(list, press.AlertStatus{
			ID: a.ID, Name: a.Name, Severity: string(a.Severity), State: a.State, Since: a.RaisedAt, Text: a.Text,
		})
	}
	return list
}

// id is unique for ever: no press raises one alert twice at one moment.
func id(pressName, name string, at time.Time) string {
	return fmt.Sprintf("%s/%s/%s", pressName, name, at.UTC().Format("20060102T150405.000Z"))
}
