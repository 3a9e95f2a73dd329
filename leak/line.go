package leak

import "math"

// Line is a straight line y(t) by least squares, in whatever units it is given.
// Its sums count from the mean so far (Welford 1962), so that they keep their
// digits. The zero value has seen nothing. (A library's comes with a whole linear
// algebra: two megabytes of program on a small board.)
type Line struct{ w, t, y, tt, ty float64 }

// Add takes w readings whose mean is y at t.
func (l *Line) Add(t, y, w float64) {
	l.w += w
	dt, dy := t-l.t, y-l.y
	l.t += dt * w / l.w
	l.y += dy * w / l.w
	l.tt += w * dt * (t - l.t)
	l.ty += w * dt * (y - l.y)
}

// Mean is the point in the middle, through which the line goes.
func (l *Line) Mean() (t, y float64) { return l.t, l.y }

// Slope is that of the line, and its standard deviation when one reading has
// the variance v. It is 0 and +Inf before there are two moments.
func (l *Line) Slope(v float64) (b, sd float64) {
	if l.tt <= 0 {
		return 0, math.Inf(1)
	}
	return l.ty / l.tt, math.Sqrt(v / l.tt)
}

// At is where the line is at t.
func (l *Line) At(t float64) float64 {
	b, _ := l.Slope(0)
	return l.y + b*(t-l.t)
}
