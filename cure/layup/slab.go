package layup

import "math"

// Layer is a slab of one material.
type Layer struct {
	Thickness    float64 // m
	Conductivity float64 // W/(m K)
	Capacity     float64 // J/(m³ K)
}

// Slab is a pile of layers with the air on both sides, top first.
type Slab struct {
	Layers []Layer
	// FilmTop and FilmBottom are the heat-transfer coefficients to the air,
	// W/(m² K); 5 to 10 in still air with radiation (from memory). Zero is a
	// side that no heat passes.
	FilmTop, FilmBottom float64
}

const (
	finest = 0.0005 // m, the cell
	tick   = 10.0   // s, the time step
)

// Rise is how long after a step of the air the temperature under the first n
// layers has gone through the given share of the step, s. One-dimensional,
// implicit finite volumes; +Inf when it takes more than a week.
func (s Slab) Rise(n int, share float64) float64 {
	g := s.grid()
	at := g.boundary(s.Layers, n)
	before := 0.0
	for t := tick; t < 7*24*3600; t += tick {
		g.step()
		now := g.face(at)
		if now >= share {
			return t - tick*(now-share)/(now-before)
		}
		before = now
	}
	return math.Inf(1)
}

// Lag is the time constant of the glue line under the first n layers, s: the
// time to 63.2 % of a step of the air.
func (s Slab) Lag(n int) float64 { return s.Rise(n, -math.Expm1(-1)) }

// grid is the slab cut into cells.
type grid struct {
	dx, k, c []float64 // m, W/(m K), J/(m³ K)
	u        []float64 // temperature, the step of the air being 1
	low      []float64 // conductance to the cell above, W/(m² K); of the top cell to the air
	bottom   float64   // conductance of the bottom cell to the air
	p, q     []float64 // scratch of the elimination
}

func (s Slab) grid() *grid {
	g := &grid{}
	for _, l := range s.Layers {
		n := max(2, int(math.Ceil(l.Thickness/finest-1e-9)))
		for range n {
			g.dx = append(g.dx, l.Thickness/float64(n))
			g.k = append(g.k, l.Conductivity)
			g.c = append(g.c, l.Capacity)
		}
	}
	n := len(g.dx)
	g.u, g.low = make([]float64, n), make([]float64, n)
	g.p, g.q = make([]float64, n), make([]float64, n)
	for i := range n {
		if i == 0 {
			g.low[0] = series(s.FilmTop, g.half(0))
			continue
		}
		g.low[i] = series(g.half(i-1), g.half(i))
	}
	g.bottom = series(s.FilmBottom, g.half(n-1))
	return g
}

// half is the conductance of half a cell.
func (g *grid) half(i int) float64 { return 2 * g.k[i] / g.dx[i] }

// series is two conductances one behind the other.
func series(a, b float64) float64 {
	if a <= 0 || b <= 0 {
		return 0
	}
	return a * b / (a + b)
}

// step goes on by one tick, the air being at 1 on both sides (Thomas algorithm).
func (g *grid) step() {
	n := len(g.u)
	for i := range n {
		below := g.bottom
		if i < n-1 {
			below = g.low[i+1]
		}
		store := g.c[i] * g.dx[i] / tick
		diag := store + g.low[i] + below
		rhs := store * g.u[i]
		if i == 0 {
			rhs += g.low[0]
		} else {
			diag -= g.low[i] * g.p[i-1]
			rhs += g.low[i] * g.q[i-1]
		}
		if i == n-1 {
			rhs += g.bottom
		}
		g.p[i], g.q[i] = below/diag, rhs/diag
	}
	g.u[n-1] = g.q[n-1]
	for i := n - 2; i >= 0; i-- {
		g.u[i] = g.q[i] + g.p[i]*g.u[i+1]
	}
}

// boundary is the cell just below the first n layers.
func (g *grid) boundary(layers []Layer, n int) int {
	depth, want := 0.0, 0.0
	for _, l := range layers[:n] {
		want += l.Thickness
	}
	for i, dx := range g.dx {
		if depth >= want-1e-9 {
			return i
		}
		depth += dx
	}
	return len(g.dx)
}

// face is the temperature where cell i begins.
func (g *grid) face(i int) float64 {
	switch i {
	case 0:
		return g.u[0]
	case len(g.u):
		return g.u[i-1]
	}
	a, b := g.half(i-1), g.half(i)
	return (a*g.u[i-1] + b*g.u[i]) / (a + b)
}
