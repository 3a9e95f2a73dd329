package layup

import "testing"

// stack writes a stack as in the books: L along, X across the bending, with the
// modulus across a twentieth of that along.
func stack(code string, mm ...float64) []ply {
	const along = 12600e6
	out := make([]ply, len(code))
	for i, c := range code {
		e := along
		if c == 'X' {
			e = along / 20
		}
		t := mm[0]
		if len(mm) > 1 {
			t = mm[i]
		}
		out[i] = ply{e, t / 1000}
	}
	return out
}

func turned(in []ply) []ply {
	out := make([]ply, len(in))
	for i, p := range in {
		out[i] = p
		if p.e == 12600e6 {
			out[i].e = 630e6
		} else {
			out[i].e = 12600e6
		}
	}
	return out
}

// Source: composite-beam equilibrium (Timoshenko; Bodig and Jayne); values
// computed in double precision by an independent sum, in N mm per mm of width.
func TestSpringback(t *testing.T) {
	seven := stack("LLXLXLL", 1.5)
	nine := stack("LLXLLLXLL", 1.5)
	uneven := stack("LLXLXLL", 1.6, 1.6, 1.1, 1.6, 1.1, 1.6, 1.6)
	for _, row := range []struct {
		name                   string
		plies                  []ply
		loose, glued, r        float64
		released, toGet250, sl float64
	}{
		{"7 × 1.5", stack("LLLLLLL", 1.5), 24806.25, 1215506.25, .020408, 255.208, 244.898, 1e-3},
		{"9 × 1.5", stack("LLLLLLLLL", 1.5), 31893.75, 2583393.75, .012346, 253.125, 246.914, 1e-3},
		{"7 with crossbands", seven, 18073.125, 1127975.625, .016023, 254.071, 245.994, 1e-3},
		{"the same, across", turned(seven), 7973.4375, 148305.9375, .053763, 264.205, 236.559, 1e-3},
		{"9 with crossbands", nine, 25160.625, 2253470.625, .011165, 252.823, 247.209, 1e-3},
		{"the same, across", turned(nine), 8327.8125, 459092.8125, .018140, 254.619, 245.465, 1e-3},
		{"uneven", uneven, 21643.755, 1063619.34, .020349, 255.193, 244.913, 1e-3},
		{"the same, across", turned(uneven), 3870.300, 106362.48, .036388, 259.440, 240.903, 1e-3},
		{"1-3-1", stack("LLL", 1, 3, 1), 30450, 131250, .232, 325.521, 192, 1e-3},
		{"1-3", stack("LL", 1, 3), 29400, 67200, .4375, 444.444, 140.625, 1e-3},
		{"2+2 unlike", []ply{{12600e6, .002}, {6300e6, .002}}, 12600, 46200, .272727, 343.75, 181.818, 1e-3},
		{"X L X", stack("XLX", 1.5), 3898.125, 8150.625, .478261, 479.167, 130.435, 1e-3},
	} {
		s := springOf(row.plies)
		almost(t, row.name+": loose, N mm", s.Loose*1e3, row.loose, row.loose*1e-9)
		almost(t, row.name+": glued, N mm", s.Glued*1e3, row.glued, row.glued*1e-9)
		almost(t, row.name+": springback", s.Back, row.r, 6e-7)
		almost(t, row.name+": released", s.Released(.250)*1e3, row.released, row.sl)
		almost(t, row.name+": form", s.Form(.250)*1e3, row.toGet250, row.sl)
	}
	almost(t, "a single ply gives all back", springOf(stack("L", 3)).Back, 1, 1e-12)
}

// Source: the rule y = x/n² of boat and piano builders: 3 in of camber in 4
// plies come back 3/16 in, in 8 plies 3/64 in.
func TestSpringbackOfEqualPliesIsOneOverSquare(t *testing.T) {
	for n, want := range map[int]float64{2: .25, 3: .111111, 4: .0625, 5: .04, 8: .015625, 10: .01, 12: .006944} {
		plies := make([]ply, n)
		for i := range plies {
			plies[i] = ply{12600e6, .0015}
		}
		almost(t, "1/n²", springOf(plies).Back, want, 6e-7)
	}
	almost(t, "3 in, 4 plies", 3*springOf(stack("LLLL", 1.5)).Back, 3.0/16, 1e-9)
	almost(t, "3 in, 8 plies", 3*springOf(stack("LLLLLLLL", 1.5)).Back, 3.0/64, 1e-9)
}

// Geometry, and the beam formula of every handbook of mechanics; values
// computed in double precision.
func TestBending(t *testing.T) {
	almost(t, "sagitta 250, mm", Sagitta(.250, .200)*1e3, 20.8712, 1e-4)
	almost(t, "sagitta 255.208, mm", Sagitta(.255208, .200)*1e3, 20.4078, 1e-3)
	almost(t, "half circle", Sagitta(.1, .3), .1, 0)
	loose := springOf(turned(stack("LLXLXLL", 1.5))).Loose
	almost(t, "seating, kPa", seating(loose, .012, .200)/1e3, 4.6, .05)
	almost(t, "tightest, mm", tightest(Wood{ElasticL: 12.6e9, Rupture: 109e6}, .0015)*1e3, 87, .5)
}
