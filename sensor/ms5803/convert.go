package ms5803

import "fmt"

// model is the arithmetic of one member of the family.
type model struct {
	off, offT, sens, sensT uint  // powers of two
	out                    uint  // of the result
	unit                   int64 // Pa in one unit of the result
	checkFirst             bool  // the checksum is in the first word of the PROM, not in the last
	second                 func(temp, dT int64) (t2, off2, sens2 int64)
}

func modelOf(name string) (model, error) {
	switch name {
	case "ms5611":
		return model{off: 16, offT: 7, sens: 15, sensT: 8, out: 15, unit: 1, second: second5611}, nil
	case "ms5803-01ba":
		return model{off: 16, offT: 7, sens: 15, sensT: 8, out: 15, unit: 1, second: second5803}, nil
	case "ms5837-02ba":
		return model{off: 17, offT: 6, sens: 16, sensT: 7, out: 15, unit: 1, checkFirst: true, second: second02}, nil
	case "ms5837-30ba":
		return model{off: 16, offT: 7, sens: 15, sensT: 8, out: 13, unit: 10, checkFirst: true, second: second30}, nil
	}
	return model{}, fmt.Errorf("model is %q: give ms5611, ms5803-01ba, ms5837-02ba or ms5837-30ba", name)
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

// The corrections of second order, each from its datasheet.

func second5611(temp, dT int64) (t2, off2, sens2 int64) {
	if temp >= 2000 {
		return 0, 0, 0
	}
	d := temp - 2000
	t2, off2, sens2 = dT*dT>>31, 5*d*d/2, 5*d*d/4
	if temp < -1500 {
		e := temp + 1500
		off2 += 7 * e * e
		sens2 += 11 * e * e / 2
	}
	return t2, off2, sens2
}

func second5803(temp, dT int64) (t2, off2, sens2 int64) {
	d := temp - 2000
	switch {
	case temp >= 4500:
		e := temp - 4500
		return 0, 0, -(e * e / 8)
	case temp >= 2000:
		return 0, 0, 0
	}
	t2, off2, sens2 = dT*dT>>31, 3*d*d, 7*d*d/8
	if temp < -1500 {
		e := temp + 1500
		sens2 += 2 * e * e
	}
	return t2, off2, sens2
}

func second02(temp, dT int64) (t2, off2, sens2 int64) {
	if temp >= 2000 {
		return 0, 0, 0
	}
	d := temp - 2000
	return 11 * dT * dT >> 35, 31 * d * d / 8, 63 * d * d / 32
}

func second30(temp, dT int64) (t2, off2, sens2 int64) {
	d := temp - 2000
	if temp >= 2000 {
		return 2 * dT * dT >> 37, d * d / 16, 0
	}
	t2, off2, sens2 = 3*dT*dT>>33, 3*d*d/2, 5*d*d/8
	if temp < -1500 {
		e := temp + 1500
		off2 += 7 * e * e
		sens2 += 4 * e * e
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
