package doctor

import (
	"fmt"
	"strconv"
	"strings"
)

const power = "power"

// The bits of the firmware's throttling word (from memory, of the vendor's
// documentation of get_throttled): under-voltage and throttling now, and the
// same at any time since the start.
const (
	weakNow   = 1 << 0
	slowedNow = 1<<1 | 1<<2
	weakOnce  = 1 << 16
	hotOnce   = 1<<17 | 1<<18
)

// hot and warm are board temperatures, °C: common boards slow themselves down
// from 80 to 85 °C on (from memory).
const (
	hot  = 80.0
	warm = 70.0
)

// power looks at the supply and the heat of the board, where the kernel tells.
func (e *examination) power() {
	known := e.voltageMonitor()
	known = e.throttled() || known
	if !known {
		e.ok(power, "the kernel tells nothing of the supply here")
	}
	e.heat()
}

const supplyRemedy = "use the supply and the cable that belong to the board, and take loads off its USB"

// voltageMonitor asks the hardware monitor of the supply (Linux,
// drivers/hwmon/raspberrypi-hwmon).
func (e *examination) voltageMonitor() bool {
	for _, dir := range e.glob("sys/class/hwmon/hwmon*") {
		if e.word(dir+"/name") != "rpi_volt" {
			continue
		}
		if e.word(dir+"/in0_lcrit_alarm") == "1" {
			e.add(power, Wrong, "the supply's voltage is too low: the board may reset in the middle of a run, or spoil its card", supplyRemedy)
		} else {
			e.ok(power, "the supply's voltage is good")
		}
		return true
	}
	return false
}

func (e *examination) throttled() bool {
	for _, file := range e.glob("sys/devices/platform/soc/*firmware/get_throttled") {
		bits, err := strconv.ParseUint(strings.TrimPrefix(e.word(file), "0x"), 16, 32)
		if err != nil {
			continue
		}
		switch {
		case bits&weakNow != 0:
			e.add(power, Wrong, "the firmware says that the supply's voltage is too low now", supplyRemedy)
		case bits&weakOnce != 0:
			e.add(power, Attention, "the firmware says that the supply's voltage was too low since the start", supplyRemedy)
		case bits&slowedNow != 0:
			e.add(power, Attention, "the firmware has slowed the board down now", "give it air and keep it away from the heater")
		case bits&hotOnce != 0:
			e.add(power, Attention, "the firmware has slowed the board down since the start", "give it air and keep it away from the heater")
		default:
			e.ok(power, "the firmware has nothing to complain of")
		}
		return true
	}
	return false
}

func (e *examination) heat() {
	hottest, known := 0.0, false
	for _, file := range e.glob("sys/class/thermal/thermal_zone*/temp") {
		if milli, err := strconv.ParseFloat(e.word(file), 64); err == nil {
			if c := milli / 1000; !known || c > hottest {
				hottest, known = c, true
			}
		}
	}
	show := e.cfg.Display.Units().Temperature(hottest)
	switch {
	case !known:
	case hottest >= hot:
		e.add(power, Wrong, fmt.Sprintf("the board is at %s", show), "give it air and keep it away from the heater; it slows down, and in the end stops")
	case hottest >= warm:
		e.add(power, Attention, fmt.Sprintf("the board is at %s", show), "give it air and keep it away from the heater")
	default:
		e.ok(power, "the board is at %s", show)
	}
}
