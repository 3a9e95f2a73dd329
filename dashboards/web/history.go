package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// Series is a stretch of the record as columns, in order of time. Every column
// is as long as Times, or empty when nothing was recorded.
type Series struct {
	Times    []time.Time // of each point; the begin of what it sums up
	Vacuum   Column      // Pa
	Bag      Column      // Pa
	Ambient  Column      // Pa
	Glueline Column      // °C
	Air      Column      // °C
	Clamped  []press.Num // clamped progress, 0..1
}

// Column holds the least, the mean and the greatest of what each point sums up.
type Column struct{ Min, Mean, Max []press.Num }

// The bounds of how many points a client can ask for.
const (
	defaultPoints = 600
	minPoints     = 2
	maxPoints     = 2000
)

func (s *server) history(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("press")
	st, ok := s.known(name)
	if !ok {
		s.fail(w, r, http.StatusNotFound, fmt.Sprintf("no press %q; see /api/v1/status for those there are", name))
		return
	}
	from, to, points, err := historyQuery(r, st)
	if err != nil {
		s.fail(w, r, http.StatusBadRequest, err.Error())
		return
	}
	series, err := s.Source.History(r.Context(), name, from, to, points)
	if err != nil {
		s.fail(w, r, http.StatusInternalServerError, fmt.Sprintf("read the history of %s: %v", name, err))
		return
	}
	answer(w, r, series.appendJSON(nil, name, from, to))
}

// historyQuery reads from, to (Unix seconds or RFC 3339) and points. Left out,
// they mean the run that is on the press, or its last twelve hours.
func historyQuery(r *http.Request, st press.Status) (from, to time.Time, points int, err error) {
	q := r.URL.Query()
	to = st.Time
	if v := q.Get("to"); v != "" {
		if to, err = moment("to", v); err != nil {
			return from, to, 0, err
		}
	}
	from = st.Started
	if from.IsZero() || from.After(to) {
		from = to.Add(-12 * time.Hour)
	}
	if v := q.Get("from"); v != "" {
		if from, err = moment("from", v); err != nil {
			return from, to, 0, err
		}
	}
	if to.Before(from) {
		return from, to, 0, fmt.Errorf("to (%s) is before from (%s)", to.Format(time.RFC3339), from.Format(time.RFC3339))
	}
	points = defaultPoints
	if v := q.Get("points"); v != "" {
		points, err = strconv.Atoi(v)
		if err != nil || points < minPoints || points > maxPoints {
			return from, to, 0, fmt.Errorf("points=%q: want a whole number from %d to %d", v, minPoints, maxPoints)
		}
	}
	return from, to, points, nil
}

func moment(name, v string) (time.Time, error) {
	if t, err := time.Parse(time.RFC3339, v); err == nil {
		return t, nil
	}
	const year9999 = 253402300799 // the last second that RFC 3339 can write
	s, err := strconv.ParseFloat(v, 64)
	if err != nil || !(s >= 0 && s <= year9999) {
		return time.Time{}, fmt.Errorf("%s=%q: want Unix seconds or RFC 3339, as 1760666400 or 2026-10-17T03:00:00Z", name, v)
	}
	return time.UnixMilli(int64(s * 1000)).UTC(), nil
}

// appendJSON writes the columns compactly: whole pascals, hundredths of a
// degree and tenths of a per mille are finer than any part reads.
func (x Series) appendJSON(b []byte, name string, from, to time.Time) []byte {
	quoted, _ := json.Marshal(name) // a string always marshals
	b = fmt.Appendf(b, `{"schema":%d,"of":%s,"from":`, press.Schema, quoted)
	b = strconv.AppendFloat(b, float64(from.UnixMilli())/1000, 'f', -1, 64)
	b = append(b, `,"to":`...)
	b = strconv.AppendFloat(b, float64(to.UnixMilli())/1000, 'f', -1, 64)
	b = append(b, `,"t":[`...)
	for i, t := range x.Times {
		if i > 0 {
			b = append(b, ',')
		}
		b = strconv.AppendFloat(b, float64(t.UnixMilli())/1000, 'f', -1, 64)
	}
	b = append(b, ']')
	b = x.Vacuum.appendJSON(b, "vacuum_pa", 0)
	b = x.Bag.appendJSON(b, "bag_pa", 0)
	b = x.Ambient.appendJSON(b, "ambient_pa", 0)
	b = x.Glueline.appendJSON(b, "glueline_c", 2)
	b = x.Air.appendJSON(b, "air_c", 2)
	if len(x.Clamped) > 0 {
		b = appendNums(append(b, `,"clamped_progress":`...), x.Clamped, 4)
	}
	return append(b, '}')
}

func (c Column) appendJSON(b []byte, name string, decimals int) []byte {
	if len(c.Mean) == 0 {
		return b
	}
	b = fmt.Appendf(b, `,%q:{"min":`, name)
	b = appendNums(b, c.Min, decimals)
	b = appendNums(append(b, `,"mean":`...), c.Mean, decimals)
	b = appendNums(append(b, `,"max":`...), c.Max, decimals)
	return append(b, '}')
}

func appendNums(b []byte, all []press.Num, decimals int) []byte {
	b = append(b, '[')
	for i, v := range all {
		if i > 0 {
			b = append(b, ',')
		}
		if v.Known() {
			b = strconv.AppendFloat(b, float64(v), 'f', decimals, 64)
		} else {
			b = append(b, "null"...)
		}
	}
	return append(b, ']')
}
