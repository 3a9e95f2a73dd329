package export

import (
	"math"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

// earn works out how the press time was earned, by playing the kept samples to
// the engine again. A run without a datasheet has none.
func (t *told) earn() []record.Thin {
	if t.sheet == nil || t.sum.HoldAt.IsZero() {
		return nil
	}
	engine := press.New(press.Config{
		Site: t.run.Site, Press: t.run.Press, Sheet: t.sheet, Relaxed: !t.run.Strained,
		FloorPa: or(t.run.FloorPa, 0), Display: t.d,
	})
	if !t.sum.LayupAt.IsZero() {
		engine.Start(t.sum.LayupAt)
	}
	every := len(t.rows)/(chartPoints/3) + 1
	var earned []record.Thin
	for i, row := range t.rows {
		if !row.Mean.Before(t.sum.EndAt) {
			break
		}
		engine.Advance(row.Sample())
		hole := i+1 < len(t.rows) && isGap(row, t.rows[i+1])
		if i%every != 0 && !hole && i != len(t.rows)-1 {
			continue
		}
		band := engine.Status().ClampedProgress
		if !band.Expected.Known() {
			continue
		}
		row.Vacuum = record.Extent{Min: share(band.Low), Mean: share(band.Expected), Max: share(band.High)}
		row.First = t.rows[max(0, i-every)].First
		earned = append(earned, row)
	}
	return earned
}

// share is a progress in percent, at most all of it.
func share(n press.Num) float64 { return math.Min(100, 100*float64(n)) }
