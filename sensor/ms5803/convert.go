package ms5803

import (
	"fmt"
	"strings"
)

// model is the arithmetic of one member of the family.
type model struct {
	name                   string
	off, offT, sens, sensT uint  // powers of two
	out                    uint  // of the result
	unit                   int64 // Pa in one unit of the result
	checkFirst             bool  // the checksum is in the first word of the PROM, not in the last
	// The corrections of second order: from 20 °C up, below it, what is added
	// below −15 °C, and what is added from 45 °C up.
	warm, cool, cold, hot second
}

// second is a correction of second order: of the temperature by dT², of offset
// and sensitivity by the square of the degrees beyond its limit.
type second struct{ t, off, sens term }

// term is mul·x/2^shift.
type term struct {
	mul   int64
	shift uint
}

func (t term) of(x int64) int64 { return t.mul * x >> t.shift }

// models is the table of the family, one row for each member. The rows ms5803-*
// agree with at least two public drivers each; see the package comment.
func models() []model {
	low14 := second{t: term{3, 33}, off: term{3, 1}, sens: term{5, 3}}
	cold14 := second{off: term{7, 0}, sens: term{4, 0}}
	low05, cold05 := second{t: term{3, 33}, off: term{3, 3}, sens: term{7, 3}}, second{sens: term{3, 0}}
	return []model{
		{
			name: "ms5611", off: 16, offT: 7, sens: 15, sensT: 8, out: 15, unit: 1,
			cool: second{term{1, 31}, term{5, 1}, term{5, 2}}, cold: second{off: term{7, 0}, sens: term{11, 1}},
		},
		{
			name: "ms5803-01ba", off: 16, offT: 7, sens: 15, sensT: 8, out: 15, unit: 1,
			cool: second{term{1, 31}, term{3, 0}, term{7, 3}}, cold: second{sens: term{2, 0}}, hot: second{sens: term{-1, 3}},
		},
		{
			name: "ms5803-02ba", off: 17, offT: 6, sens: 16, sensT: 7, out: 15, unit: 1,
			cool: second{term{1, 31}, term{61, 4}, term{2, 0}}, cold: second{off: term{20, 0}, sens: term{12, 0}},
		},
		{name: "ms5803-05ba", off: 18, offT: 5, sens: 17, sensT: 7, out: 15, unit: 1, cool: low05, cold: cold05},
		{name: "ms5803-07ba", off: 18, offT: 5, sens: 17, sensT: 6, out: 15, unit: 1, cool: low05, cold: cold05},
		{
			name: "ms5803-14ba", off: 16, offT: 7, sens: 15, sensT: 8, out: 15, unit: 10,
			warm: second{t: term{7, 37}, off: term{1, 4}}, cool: low14, cold: cold14,
		},
		{
			name: "ms5803-30ba", off: 16, offT: 7, sens: 15, sensT: 8, out: 13, unit: 10,
			warm: second{t: term{7, 37}, off: term{1, 4}}, cool: low14, cold: cold14,
		},
		{
			name: "ms5837-02ba", off: 17, offT: 6, sens: 16, sensT: 7, out: 15, unit: 1, checkFirst: true,
			cool: second{term{11, 35}, term{31, 3}, term{63, 5}},
		},
		{
			name: "ms5837-30ba", off: 16, offT: 7, sens: 15, sensT: 8, out: 13, unit: 10, checkFirst: true,
			warm: second{t: term{2, 37}, off: term{1, 4}}, cool: low14, cold: cold14,
		},
	}
}

// Models are the numbers of the parts, as the option model has them.
func Models() []string {
	var names []string
	for _, m := range models() {
		names = append(names, m.name)
	}
	return names
}

func modelOf(name string) (model, error) {
	for _, m := range models() {
		if m.name == name {
			return m, nil
		}
	}
	return model{}, fmt.Errorf("model is %q: give the one on the part: %s", name, strings.Join(Models(), ", "))
}

// convert is the datasheets' arithmetic, in integers as there: pressure in Pa,
// temperature in °C.
func (m model) convert(c [8]uint16, d1, d2 uint32, secondOrder bool) (pa, celsius float64) {
	dT := int64(d2) - int64(c[5])<<8
	temp := 2000 + dT*int64(c[6])>>23
	off := int64(c[2])<<m.off + int64(c[4])*dT>>m.offT
	sens := int64(c[1])<<m.sens + int64(c[3])*dT>>m.sensT
	if secondOrder {
		t2, off2, sens2 := m.second(temp, dT)
		temp, off, sens = temp-t2, off-off2, sens-sens2
	}
	p := (int64(d1)*sens>>21 - off) >> m.out
	return float64(p * m.unit), float64(temp) / 100
}

// second is the correction of second order at temp (0.01 °C).
func (m model) second(temp, dT int64) (t2, off2, sens2 int64) {
	add := func(c second, limit int64) {
		d := temp - limit
		t2, off2, sens2 = t2+c.t.of(dT*dT), off2+c.off.of(d*d), sens2+c.sens.of(d*d)
	}
	if temp >= 2000 {
		add(m.warm, 2000)
	} else {
		add(m.cool, 2000)
	}
	if temp < -1500 {
		add(m.cold, -1500)
	}
	if temp >= 4500 {
		add(m.hot, 4500)
	}
	return t2, off2, sens2
}

// crc4 is the checksum of application note AN520 over the PROM, whose own
// nibble must be zero.
func crc4(prom [8]uint16) uint16 {
	var rest uint16
	for _, word := range prom {
		for _, octet := range [2]uint16{word >> 8, word & 0xFF} {
			rest ^= octet
			for range 8 {
				carry := rest & 0x8000
				rest <<= 1
				if carry != 0 {
					rest ^= 0x3000
				}
			}
		}
	}
	return rest >> 12
}

// checksum compares the PROM's checksum with its words.
func (m model) checksum(prom [8]uint16) bool {
	if m.checkFirst {
		want := prom[0] >> 12
		prom[0] &= 0x0FFF
		prom[7] = 0
		return crc4(prom) == want
	}
	want := prom[7] & 0xF
	prom[7] &= 0xFF00
	return crc4(prom) == want
}
