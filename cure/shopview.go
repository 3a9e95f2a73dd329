package cure

// viewed is how many hours ahead the weather is worked out; after that it has
// mostly gone.
const viewed = 48

// view is what places are expected to do hour by hour.
type view struct {
	shares  [kinds]float64
	of      [kinds]prospect
	expects [viewed + 1]float64 // °C
	sums    [viewed + 1]float64 // K²: variance of the sum of the temperatures up to that hour
}

// prospect is the view of one kind of place.
type prospect struct {
	place
	expects [viewed + 1]float64
	sums    [viewed + 1]float64
	terms   [viewed + 1][terms]float64
	cov     [viewed + 1][terms]float64 // of the state with the temperature, at that time
}

// look fills v with n hours after the time of p, beginning first hours after it. The
// sums begin with the hour summed.
func (v *view) look(p *places, first float64, n, summed int, midnight float64) {
	v.shares = p.shares()
	for k := range v.of {
		if v.shares[k] > 0 {
			v.of[k].place = p.kind[k]
			v.of[k].look(first, n, summed, midnight)
		}
	}
	v.merge(n, summed)
}

// merge takes all kinds together; that they differ is part of what is not known.
func (v *view) merge(n, summed int) {
	var sum [kinds]float64
	total := 0.0
	for i := range n {
		c, variance := 0.0, 0.0
		for k := range v.of {
			c += v.shares[k] * v.of[k].expects[i]
		}
		v.expects[i] = c
		if i < summed {
			continue
		}
		total += c
		for k := range v.of {
			sum[k] += v.of[k].expects[i]
			apart := sum[k] - total
			variance += v.shares[k] * (v.of[k].sums[i] + apart*apart)
		}
		v.sums[i] = variance
	}
}

func (o *prospect) look(first float64, n, summed int, midnight float64) {
	k := &o.place
	hour := k.later(1)
	var with [terms]float64 // covariance of the state with the sum
	sum := 0.0
	for i := range n {
		if i == 0 {
			k.move(k.t + first*3600)
		} else {
			k.pass(hour)
			k.t += 3600
			with = hour.of(&with)
		}
		h := k.terms(k.t, midnight)
		ph := k.times(&h)
		o.terms[i], o.cov[i], o.expects[i] = h, ph, dot(&h, &k.x)
		if i < summed {
			continue
		}
		sum += 2*dot(&h, &with) + dot(&h, &ph)
		for j := range with {
			with[j] += ph[j]
		}
		o.sums[i] = sum
	}
}

// of is what becomes of a departure of the state.
func (l *later) of(x *[terms]float64) (y [terms]float64) {
	y[0], y[1], y[2] = l.weather*x[0], l.stays*x[1]+l.in*x[0], x[2]
	for i := 3; i < terms; i++ {
		y[i] = l.waves * x[i]
	}
	return y
}

// between is the covariance of the temperatures at the i-th and j-th hour, K².
func (o *prospect) between(i, j int) float64 {
	i, j = min(i, j), max(i, j)
	l := o.later(float64(j - i))
	then := l.of(&o.cov[i])
	return dot(&o.terms[j], &then)
}

// between is the covariance of all kinds together.
func (v *view) between(i, j int) float64 {
	sum := 0.0
	for k := range v.of {
		if v.shares[k] > 0 {
			o := &v.of[k]
			sum += v.shares[k] * (o.between(i, j) + (o.expects[i]-v.expects[i])*(o.expects[j]-v.expects[j]))
		}
	}
	return sum
}

// further carries the view on for some hours after its last: what is expected, °C.
func (v *view) further(hours, midnight float64) float64 {
	sum := 0.0
	for i := range v.of {
		if v.shares[i] == 0 {
			continue
		}
		k := &v.of[i].place
		l := k.later(hours)
		x := l.of(&k.x)
		x[3] += k.swing * (1 - l.waves)
		h := k.terms(k.t+hours*3600, midnight)
		sum += v.shares[i] * dot(&h, &x)
	}
	return sum
}
