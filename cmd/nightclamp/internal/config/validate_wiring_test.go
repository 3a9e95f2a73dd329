package config_test

import (
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
)

// sensors writes a config with one sensor a line, as driver and keys with ; in
// between; a line "press" begins another press.
func sensors(lines string) string {
	var b strings.Builder
	b.WriteString("[[press]]\nname = \"deck1\"\n")
	for line := range strings.Lines(lines) {
		words := strings.Split(strings.TrimSpace(line), ";")
		switch words[0] {
		case "":
		case "press":
			b.WriteString("[[press]]\nname = \"deck2\"\n")
		default:
			b.WriteString("[[press.sensor]]\ndriver = \"" + words[0] + "\"\n")
			for _, key := range words[1:] {
				b.WriteString(key + "\n")
			}
		}
	}
	return b.String()
}

func TestWiring(t *testing.T) {
	for what, c := range map[string]struct{ lines, says string }{
		"as they come": {"mpr\nbme280\nds18b20", ""},
		"one address": {
			"mpr\nbme280\nmcp9808;address = 0x18;as = \"air\"",
			"c.toml:9: sensor mcp9808 of deck1 and sensor mpr of deck1 (c.toml:3) both take address 0x18 of the first I²C bus; give one of them another address",
		},
		"on two presses": {
			"mpr;bus = \"1\"\npress\nmpr;bus = \"/dev/i2c-1\"",
			"c.toml:8: sensor mpr of deck2 and sensor mpr of deck1 (c.toml:3) both take address 0x18 of I²C bus 1; give one",
		},
		"on two buses":                   {"mpr;bus = \"1\"\npress\nmpr;bus = \"3\"", ""},
		"one barometer for two":          {"mpr\nbme280\npress\nmpr;address = 0x28\nbme280", ""},
		"one barometer twice on a press": {"bme280\nbme280;name = \"b\"", "sensor b of deck1 and sensor bme280 of deck1 (c.toml:3) both take address 0x76"},
		"one bag part for two":           {"mpr\npress\nmpr", "both take address 0x18"},
		"a channel each":                 {"ads1115\nthermistor;channel = 1;range_v = 2.048\ncurrentloop;channel = 2;rate = 8", ""},
		"one channel": {
			"ads1115\nthermistor;r0_ohm = 5000;channel = 0",
			"c.toml:8: sensor thermistor of deck1 and sensor ads1115 of deck1 (c.toml:3) both take channel 0 of address 0x48 of the first I²C bus; give one of them another channel",
		},
		"probes without ids": {
			"ds18b20\nds18b20;as = \"air\"",
			"c.toml:5: sensor ds18b20-2 of deck1 and sensor ds18b20 of deck1 (c.toml:3) both take the only 1-wire thermometer; give each its own id",
		},
		"probes with ids":          {"ds18b20;id = \"28-1\"\nds18b20;id = \"28-2\"", ""},
		"a probe twice":            {"ds18b20;id = \"28-1\"\npress\nds18b20;id = \"28-1\"", "both take 1-wire thermometer 28-1"},
		"an air probe for two":     {"ds18b20;id = \"28-1\";as = \"air\"\npress\nds18b20;id = \"28-1\";as = \"air\"", ""},
		"a port twice":             {"serial;port = \"/dev/ttyUSB0\"\nserial;port = \"/dev/ttyUSB0\";reads = [\"air\"]", "c.toml:8: sensor serial-2 of deck1 and sensor serial of deck1 (c.toml:3) both take serial port /dev/ttyUSB0; one table reads all"},
		"a device twice":           {"iio;device = \"bmp280\"\niio;device = \"bmp280\";pressure = \"bag\"", "both take the pressure of kernel device bmp280"},
		"an address that is none":  {"mpr;address = 0x148", "c.toml:5: option address is 0x148: an I²C address is 0x08 to 0x78"},
		"an address at the end":    {"hsc;address = 0x78", ""},
		"a gauge part from 0":      {"hsc;reference = \"gauge\";min_pa = 0;max_pa = 103421", "c.toml:6: min_pa is 0 Pa: against the room a vacuum is negative, and of a bag's this part sees nothing"},
		"only the word gauge":      {"abp2;reference = \"gauge\"", "c.toml:3: min_pa is 0 Pa"},
		"a loop from 0":            {"currentloop;low_pa = 0;high_pa = 100000", "c.toml:5: low_pa is 0 Pa"},
		"1 psi":                    {"mpr;max_pa = 6895", "c.toml:5: max_pa is 6895 Pa"},
		"a floor beyond the range": {"hsc;reference = \"gauge\";min_pa = -55000;max_pa = 55000", "c.toml:6: sensor hsc of deck1 sees a vacuum of at most 55kPa, and the floor of deck1 is"},
	} {
		_, err := config.Parse("c.toml", []byte(sensors(c.lines)), config.BuiltIn())
		switch {
		case c.says == "" && err != nil:
			t.Errorf("%s: %v", what, err)
		case c.says != "" && (err == nil || !strings.Contains(err.Error(), c.says)):
			t.Errorf("%s: got %v, want %s", what, err, c.says)
		case err != nil && strings.Contains(err.Error(), "\n"):
			t.Errorf("%s: more than one fault: %v", what, err)
		}
	}
}

func TestWiringWarnings(t *testing.T) {
	for what, c := range map[string]struct{ text, says string }{
		"nothing":                {sensors("mpr\nhsc\nabp2;address = 0x48"), ""},
		"perhaps one bus":        {sensors("mpr\nmcp9808;bus = \"1\";as = \"air\""), "c.toml:7: sensor mcp9808 of deck1 and sensor mpr of deck1 (c.toml:3) are at one address: name the bus in both"},
		"a part of 1 bar":        {sensors("hsc;max_pa = 100000"), "c.toml:5: sensor hsc of deck1: max_pa is 100000 Pa, and the room has 101325 Pa"},
		"and one in a high shop": {"station_pressure = \"910hPa\"\n" + sensors("hsc;max_pa = 100000"), ""},
		"a shallow gauge part":   {sensors("ads1115;low_pa = -80000"), "c.toml:5: sensor ads1115 of deck1: low_pa is -80000 Pa: a deeper vacuum is not seen"},
	} {
		cfg, err := config.Parse("c.toml", []byte(c.text), config.BuiltIn())
		if err != nil {
			t.Errorf("%s: %v", what, err)
			continue
		}
		all := strings.Join(cfg.Warnings(), "\n")
		if (c.says == "") != (all == "") || !strings.Contains(all, c.says) {
			t.Errorf("%s: warnings %q, want %q", what, all, c.says)
		}
	}
}
