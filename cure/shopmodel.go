package cure

import "math"

const (
	kinds = 3           // of places
	waves = 2           // of 24 and of 12 hours
	terms = 3 + 2*waves // of a place's state
)

// habit is what places of one kind are known to do before one was measured. The
// temperature of a place is taken to be the sum of a level, of a daily wave with an
// overtone, and of weather that comes and goes and that the place follows slowly.
type habit struct {
	usual, usualSD float64    // °C: how warm such places are
	weather        float64    // K: standard deviation of the weather outside the walls
	lasting        float64    // h: how long weather lasts
	lag            float64    // h: how slowly the place follows it
	swing          float64    // K: half of the daily swing that is expected
	warmest        float64    // h after midnight
	wavesSD        [3]float64 // K: of the swing, of the part of it that is a quarter of a day off, of the overtone
}

const (
	// levelSD, K, is so much that the first reading says what the level is.
	levelSD = 8.0
	// drift, K/√h, is how fast a level wanders with the season, and wavesLast, h,
	// how long the form of a day lasts.
	drift     = 0.12
	wavesLast = 500.0
	// readingSD, K, is by how much an hour's mean is off: a door, a hand.
	readingSD = 0.1
	// leap, standard errors, is so much as no weather does: the press was moved, a
	// heater was lit, the probe fell off. The level takes it, and no trend is read
	// into it.
	leap = 6.0
	// likenessLasts, hours of record, in telling one kind of place from another.
	likenessLasts = 100.0
)

// habits are a room that somebody keeps warm, a light shed, and one with heavy walls.
// Outdoors it is coldest about sunrise and warmest about three in the afternoon, and
// dwellings are kept at about 21 °C (common practice, no source). How strong and how
// late that comes in, and all else, was found on the first halves of the recorded
// temperatures, where half as much and twice as much did nearly as well.
func habits() [kinds]habit {
	return [kinds]habit{
		{usual: 21, usualSD: 2, weather: 1, lasting: 48, lag: 2.5, swing: 0.2, warmest: 17, wavesSD: [3]float64{0.7, 0.5, 0.2}},
		{usual: 10, usualSD: 10, weather: 6, lasting: 48, lag: 5, swing: 1.7, warmest: 17, wavesSD: [3]float64{2, 1, 0.3}},
		{usual: 10, usualSD: 10, weather: 6, lasting: 48, lag: 12, swing: 1, warmest: 18, wavesSD: [3]float64{1.2, 1, 0.3}},
	}
}

// place is one kind of place, fitted to what was measured: a Kalman filter (R. E.
// Kalman, 1960) whose state is the weather, what of it has come in, the level, and
// the cosines and sines of the day.
type place struct {
	habit
	t     float64 // s
	x     [terms]float64
	p     [terms][terms]float64 // covariance
	alike float64               // log likelihood of what was measured, fading
}

// begin starts a place with its first temperature.
func (k *place) begin(h habit, t, c, midnight float64) {
	*k = place{habit: h, t: t}
	v, in := h.steady()
	k.p[0][0], k.p[0][1], k.p[1][0], k.p[1][1], k.p[2][2] = v, in, in, in, levelSD*levelSD
	for i := range 2 * waves {
		k.p[3+i][3+i] = h.waveVariance(i)
	}
	k.x[3] = h.swing
	k.x[2] = c - k.terms(t, midnight)[3]*h.swing
	k.see(c, midnight)
	off := (c - h.usual) / h.usualSD
	k.alike = -off*off/2 - math.Log(h.usualSD)
}

// steady is the variance of the weather, and of what of it comes in (which is
// their covariance too).
func (h *habit) steady() (weather, in float64) {
	v := h.weather * h.weather
	return v, v * h.lasting / (h.lasting + h.lag)
}

func (h *habit) waveVariance(i int) float64 {
	sd := h.wavesSD[min(i, 2)]
	return sd * sd
}

// terms is by how much each part of the state counts in the temperature at t.
func (k *place) terms(t, midnight float64) [terms]float64 {
	s, c := math.Sincos(2 * math.Pi * ((t-midnight)/3600 - k.warmest) / 24)
	c2, s2 := c*c-s*s, 2*s*c
	return [terms]float64{0, 1, 1, c, s, c2, s2}
}

// later is what is left of the weather after some hours, what of it has come in by
// then, what is left of what had come in, and of the waves' departure from habit.
type later struct{ hours, weather, in, stays, waves float64 }

func (h *habit) later(hours float64) later {
	l := later{hours: hours, weather: math.Exp(-hours / h.lasting), stays: math.Exp(-hours / h.lag), waves: math.Exp(-hours / wavesLast)}
	l.in = h.lasting / (h.lasting - h.lag) * (l.weather - l.stays)
	return l
}

// move lets time pass without a measurement.
func (k *place) move(t float64) {
	if hours := (t - k.t) / 3600; hours > 0 {
		k.pass(k.later(hours))
		k.t = t
	}
}

// pass lets time pass that makes l of what is; the time is the caller's to tell.
func (k *place) pass(l later) {
	w := l.waves
	f := [terms]float64{l.weather, l.stays, 1, w, w, w, w}
	k.x[1] = l.stays*k.x[1] + l.in*k.x[0]
	k.x[0] *= l.weather
	for i := 3; i < terms; i++ {
		k.x[i] *= w
	}
	k.x[3] += k.swing * (1 - w)
	for j := range terms {
		k.p[1][j] = f[1]*k.p[1][j] + l.in*k.p[0][j]
		k.p[0][j] *= f[0]
		for i := 2; i < terms; i++ {
			k.p[i][j] *= f[i]
		}
	}
	for i := range terms {
		k.p[i][1] = f[1]*k.p[i][1] + l.in*k.p[i][0]
		k.p[i][0] *= f[0]
		for j := 2; j < terms; j++ {
			k.p[i][j] *= f[j]
		}
	}
	k.wander(l)
}

// wander adds the variance that new weather brings: so much that it stays as large
// as it was.
func (k *place) wander(l later) {
	v, in := k.steady()
	k.p[0][0] += v * (1 - l.weather*l.weather)
	both := in - l.weather*(l.in*v+l.stays*in)
	k.p[0][1] += both
	k.p[1][0] += both
	k.p[1][1] += in - (l.in*l.in*v + 2*l.in*l.stays*in + l.stays*l.stays*in)
	k.p[2][2] += drift * drift * l.hours
	for i := range 2 * waves {
		k.p[3+i][3+i] += k.waveVariance(i) * (1 - l.waves*l.waves)
	}
}

// see takes a temperature at the place's time.
func (k *place) see(c, midnight float64) {
	h := k.terms(k.t, midnight)
	ph := k.times(&h)
	off, v := c-dot(&h, &k.x), readingSD*readingSD+dot(&h, &ph)
	if jump := off*off/leap/leap - v; jump > 0 {
		k.p[2][2] += jump
		ph[2] += jump
		v += jump
	}
	for i := range terms {
		k.x[i] += ph[i] * off / v
		for j := range terms {
			k.p[i][j] -= ph[i] * ph[j] / v
		}
	}
	k.alike = k.alike*(1-1/likenessLasts) - (off*off/v+math.Log(v))/2
}

// times is the covariance of each part of the state with the temperature.
func (k *place) times(h *[terms]float64) (ph [terms]float64) {
	for i := range terms {
		ph[i] = dot(&k.p[i], h)
	}
	return ph
}

func dot(a, b *[terms]float64) (sum float64) {
	for i := range terms {
		sum += a[i] * b[i]
	}
	return sum
}

// places is every kind side by side; what was measured says which it is.
type places struct {
	known bool
	kind  [kinds]place
}

// see takes a mean temperature at t; not before the last one.
func (p *places) see(t, c float64, cfg *ShopConfig) {
	if !p.known {
		p.known = true
		for i, h := range habits() {
			if cfg.NoClock {
				h.anytime()
			}
			p.kind[i].begin(h, t, c, cfg.Midnight)
		}
		return
	}
	for i := range p.kind {
		p.kind[i].move(t)
		p.kind[i].see(c, cfg.Midnight)
	}
}

// anytime makes it a habit of which only how much the days swing is known.
func (h *habit) anytime() {
	sd := math.Hypot(h.swing, math.Hypot(h.wavesSD[0], h.wavesSD[1])) / math.Sqrt2
	h.swing, h.wavesSD[0], h.wavesSD[1] = 0, sd, sd
}

// unlikely is the share under which a kind is left out.
const unlikely = 0.01

// shares is how likely each kind is; they add up to 1.
func (p *places) shares() (shares [kinds]float64) {
	most, sum := math.Inf(-1), 0.0
	for i := range p.kind {
		most = math.Max(most, p.kind[i].alike)
	}
	for i := range p.kind {
		if share := math.Exp(p.kind[i].alike - most); share > unlikely {
			shares[i] = share
			sum += share
		}
	}
	for i := range shares {
		shares[i] /= sum
	}
	return shares
}
