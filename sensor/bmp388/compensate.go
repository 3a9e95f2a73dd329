package bmp388

import (
	"encoding/binary"
	"math"
)

// coefficients are those of one part, scaled as the datasheet's appendix says.
type coefficients struct {
	t1, t2, t3                                   float64
	p1, p2, p3, p4, p5, p6, p7, p8, p9, p10, p11 float64
}

func coefficientsOf(b [calibrationLen]byte) coefficients {
	u16 := func(at int) float64 { return float64(binary.LittleEndian.Uint16(b[at:])) }
	s16 := func(at int) float64 { return float64(int16(binary.LittleEndian.Uint16(b[at:]))) } //nolint:gosec // two's complement on the wire
	s8 := func(at int) float64 { return float64(int8(b[at])) }                                //nolint:gosec // as above
	return coefficients{
		t1:  math.Ldexp(u16(0), 8),
		t2:  math.Ldexp(u16(2), -30),
		t3:  math.Ldexp(s8(4), -48),
		p1:  math.Ldexp(s16(5)-1<<14, -20),
		p2:  math.Ldexp(s16(7)-1<<14, -29),
		p3:  math.Ldexp(s8(9), -32),
		p4:  math.Ldexp(s8(10), -37),
		p5:  math.Ldexp(u16(11), 3),
		p6:  math.Ldexp(u16(13), -6),
		p7:  math.Ldexp(s8(15), -8),
		p8:  math.Ldexp(s8(16), -15),
		p9:  math.Ldexp(s16(17), -48),
		p10: math.Ldexp(s8(19), -48),
		p11: math.Ldexp(s8(20), -65),
	}
}

// celsius is the datasheet's compensation of temperature.
func (c coefficients) celsius(raw float64) float64 {
	d := raw - c.t1
	return d*c.t2 + d*d*c.t3
}

// pascal is the datasheet's compensation of pressure at t °C.
func (c coefficients) pascal(raw, t float64) float64 {
	offset := c.p5 + t*(c.p6+t*(c.p7+t*c.p8))
	slope := c.p1 + t*(c.p2+t*(c.p3+t*c.p4))
	return offset + raw*slope + raw*raw*(c.p9+t*c.p10) + raw*raw*raw*c.p11
}
