package alert

import (
	"slices"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// changes is what one call of [Book.Advance] does to a book.
type changes struct {
	book *Book
	st   press.Status
	out  []press.Alert
}

// take lets one event end problems and begin others.
func (c *changes) take(ev press.Event) {
	for _, e := range slices.Clone(c.book.open) {
		switch {
		case ev.Kind == press.Released:
			c.end(e, string(ev.Kind))
		case slices.Contains(e.row.clear, ev.Kind):
			if e.quantities = without(e.quantities, ev.Quantity); len(e.quantities) == 0 {
				c.end(e, string(ev.Kind))
			}
		}
	}
	c.raise(ev)
}

// raise begins the problems that the event tells of.
func (c *changes) raise(ev press.Event) {
	for _, r := range c.book.rows {
		if !slices.Contains(r.raise, ev.Kind) {
			continue
		}
		e := c.book.find(r.name)
		switch {
		case e != nil && r.lasts > 0: // a new one in place of the old
			c.end(e, "a newer one came")
			fallthrough
		case e == nil:
			e = &entry{row: r, ev: ev}
			c.book.add(e)
		case e.ev.Kind == "": // restored: the details were not kept
			e.ev = ev
		}
		if ev.Quantity != "" && !slices.Contains(e.quantities, ev.Quantity) {
			e.quantities = append(e.quantities, ev.Quantity)
		}
	}
}

// look raises and ends what no event tells of.
func (c *changes) look() {
	for _, r := range c.book.rows {
		if r.holds == nil {
			continue
		}
		e := c.book.find(r.name)
		holds := r.holds(c.book, c.st, e != nil)
		switch {
		case holds && e == nil:
			c.book.add(&entry{row: r, ev: press.Event{
				Time: c.st.Time, Site: c.st.Site, Press: c.st.Press, Run: c.st.Run, VacuumPa: c.st.VacuumPa,
			}})
		case !holds && e != nil:
			c.end(e, "it is so no longer")
		}
	}
}

// expire ends what is over by itself.
func (c *changes) expire() {
	for _, e := range slices.Clone(c.book.open) {
		if e.row.lasts > 0 && c.st.Time.Sub(e.ev.Time) >= e.row.lasts {
			c.end(e, "it is long past")
		}
	}
}

// end takes a problem from the book.
func (c *changes) end(e *entry, reason string) {
	c.book.remove(e)
	if !e.told() || e.silent {
		return
	}
	p := c.picture(e)
	e.alert.State, e.alert.Reason, e.alert.At = press.AlertCleared, reason, c.at()
	if slices.Contains(e.row.told, press.Kind(reason)) {
		e.alert.Text = over(e.row, e.alert, p)
	}
	c.out = append(c.out, e.alert)
}

// settle tells what has not been told, once it is clear what is part of what.
func (c *changes) settle() {
	for _, e := range slices.Clone(c.book.open) {
		greater := c.book.swallowedBy(e)
		p := c.picture(e)
		switch {
		case greater != nil:
			c.swallow(e, greater)
		case e.silent:
			if e.row.again != nil && e.row.again(p) {
				e.silent = false
				c.tell(e, p, "no longer part of another")
			}
		case e.row.wait && !e.told() && c.book.falling.open(c.st):
		case !e.told() && c.at().Sub(e.ev.Time) < e.row.lasting:
		case !e.told():
			c.tell(e, p, string(e.ev.Kind))
		case rank(e.row.severity(p)) > rank(e.alert.Severity):
			// Said again even when somebody had acknowledged it as it was.
			e.alert.Reminders, e.alert.SnoozedUntil = 0, time.Time{}
			c.say(e, p, "more urgent")
		default:
			c.live(e, p)
		}
	}
}

// swallow silences a problem that turned out to be part of a greater one.
func (c *changes) swallow(e, greater *entry) {
	if e.told() && !e.silent {
		e.alert.State, e.alert.At = press.AlertCleared, c.at()
		e.alert.Reason = "part of " + greater.row.name
		c.out = append(c.out, e.alert)
	}
	e.silent = true
}

// tell raises the alert, under a new ID.
func (c *changes) tell(e *entry, p picture, reason string) {
	at := c.at()
	if reason == "" {
		reason = e.row.name
	}
	e.alert = press.Alert{
		Schema: press.Schema, ID: id(e.ev.Press, e.row.name, at), Name: e.row.name,
		Site: e.ev.Site, Press: e.ev.Press, Run: e.ev.Run,
		Severity: e.row.severity(p), State: press.AlertRaised,
		Text: short(e.row.text(p)), Reason: reason, RaisedAt: at, At: at,
	}
	c.out = append(c.out, e.alert)
}

func (c *changes) picture(e *entry) picture {
	return picture{ev: e.ev, st: c.st, quantities: e.quantities, show: c.book.cfg.Display}
}

func (c *changes) at() time.Time { return c.st.Time }

// without removes one quantity; an event that names none removes all.
func without(quantities []string, quantity string) []string {
	if quantity == "" {
		return nil
	}
	return slices.DeleteFunc(quantities, func(q string) bool { return q == quantity })
}
