package alert

import (
	"fmt"
	"strings"
	"time"
)

// Quiet is when a way out keeps still, except for what wakes. The zero value is
// never.
type Quiet struct {
	From, To time.Duration  // since midnight; To may be the next day's
	Location *time.Location // nil: UTC
}

// ParseQuiet reads quiet hours written as "22:00-07:00"; empty is never.
func ParseQuiet(text string, location *time.Location) (Quiet, error) {
	if text == "" {
		return Quiet{}, nil
	}
	begin, end, _ := strings.Cut(text, "-")
	from, err1 := time.Parse("15:04", begin)
	to, err2 := time.Parse("15:04", end)
	if err1 != nil || err2 != nil || from.Equal(to) {
		return Quiet{}, fmt.Errorf("quiet hours %q cannot be read; write when they begin and end, as in 22:00-07:00", text)
	}
	midnight := time.Date(0, time.January, 1, 0, 0, 0, 0, time.UTC)
	return Quiet{From: from.Sub(midnight), To: to.Sub(midnight), Location: location}, nil
}

// after is when something that comes at now may be told: now, or the end of the
// quiet hours that now is in. On the nights when clocks are set it goes by the
// clock on the wall, as sleepers do.
func (q Quiet) after(now time.Time) time.Time {
	if q.From == q.To {
		return now
	}
	location := q.Location
	if location == nil {
		location = time.UTC
	}
	local := now.In(location)
	for day := -1; day <= 0; day++ {
		from, to := onDay(local, day, q.From), onDay(local, day, q.To)
		if q.To < q.From {
			to = onDay(local, day+1, q.To)
		}
		if !now.Before(from) && now.Before(to) {
			return to.In(now.Location())
		}
	}
	return now
}

// onDay is the moment when the clock on the wall shows at, some days from t.
func onDay(t time.Time, days int, at time.Duration) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day()+days, 0, int(at/time.Minute), 0, 0, t.Location())
}
