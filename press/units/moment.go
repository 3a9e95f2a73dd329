package units

import (
	"math"
	"strconv"
	"time"
)

// Clock writes the moment t as somebody at now would say it: "09:50" today,
// "09:50 tomorrow", "09:50 yesterday", "09:50 on Friday" up to six days ahead,
// else with its date: "09:50 on 2 November". The zero time is [Missing].
func (d Display) Clock(t, now time.Time) string {
	if t.IsZero() {
		return Missing
	}
	t, now = d.in(t), d.in(now)
	clock := d.TimeOfDay(t)
	switch days := civilDay(t) - civilDay(now); {
	case days == 0:
		return clock
	case days == 1:
		return clock + " tomorrow"
	case days == -1:
		return clock + " yesterday"
	case days > 1 && days <= 6:
		return clock + " on " + t.Weekday().String()
	case t.Year() == now.Year():
		return clock + t.Format(" on 2 January")
	default:
		return clock + t.Format(" on 2 January 2006")
	}
}

// TimeOfDay writes the time of day alone: "09:50", or "9:50 am".
func (d Display) TimeOfDay(t time.Time) string {
	if t.IsZero() {
		return Missing
	}
	if d.Clock12 {
		return d.in(t).Format("3:04 pm")
	}
	return d.in(t).Format("15:04")
}

func (d Display) in(t time.Time) time.Time {
	if d.Location == nil {
		return t.UTC()
	}
	return t.In(d.Location)
}

// civilDay numbers the calendar day of t in its own zone; noon UTC keeps it
// clear of days that are 23 or 25 hours long.
func civilDay(t time.Time) int64 {
	y, m, dd := t.Date()
	return time.Date(y, m, dd, 12, 0, 0, 0, time.UTC).Unix() / 86400
}

// Span writes a span of time for people, no finer than they care: "45 s",
// "35 min", "5 h 20 min", "18 h", "2 d 3 h". From one hour minutes go by fives,
// from ten hours they are left out.
func (d Display) Span(span time.Duration) string {
	if span < 0 {
		if span == math.MinInt64 {
			span++
		}
		return "-" + d.Span(-span)
	}
	switch {
	case span.Round(time.Second) < time.Minute:
		return count(span.Round(time.Second), time.Second, " s")
	case span.Round(time.Minute) < time.Hour:
		return count(span.Round(time.Minute), time.Minute, " min")
	case span.Round(5*time.Minute) < 10*time.Hour:
		return pair(span.Round(5*time.Minute), time.Hour, " h", time.Minute, " min")
	case span.Round(time.Hour) < 2*day:
		return count(span.Round(time.Hour), time.Hour, " h")
	default:
		return pair(span.Round(time.Hour), day, " d", time.Hour, " h")
	}
}

// SpanSeconds writes a span given in seconds; one that is not known or without
// end is [Missing].
func (d Display) SpanSeconds(s float64) string {
	const longest = 290 * 365 * 86400 // s; more does not fit a time.Duration
	if math.IsNaN(s) || math.Abs(s) > longest {
		return Missing
	}
	return d.Span(time.Duration(s * float64(time.Second)))
}

func count(span, unit time.Duration, symbol string) string {
	return strconv.FormatInt(int64(span/unit), 10) + symbol
}

func pair(span, big time.Duration, bigSymbol string, small time.Duration, smallSymbol string) string {
	s := count(span, big, bigSymbol)
	if rest := span % big; rest >= small {
		s += " " + count(rest, small, smallSymbol)
	}
	return s
}
