package config

import (
	"net"
	"strconv"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// Config is the whole configuration. After [Load] every value is set and
// checked; nothing in it needs a second look.
type Config struct {
	// Site names this board on the wire and in the record.
	Site string `toml:"site"`
	// Data is the folder of the record.
	Data string `toml:"data"`
	// GlueFolder holds the user's own datasheets, NAME.toml each.
	GlueFolder string `toml:"glue_folder,omitempty"`
	// StationPressure is the absolute pressure of the room where no sensor
	// measures it, not reduced to sea level. 0: not given.
	StationPressure units.Pressure `toml:"station_pressure,omitempty"`

	Display  Display  `toml:"display"`
	HTTP     HTTP     `toml:"http"`
	NATS     NATS     `toml:"nats"`
	Record   Record   `toml:"record"`
	Defaults Defaults `toml:"defaults"`
	Shop     Shop     `toml:"shop"`
	Alert    Alert    `toml:"alert"`
	Pins     Pins     `toml:"pins"`
	Presses  []Press  `toml:"press"`

	// Path is the file that was read; empty: there is none, these are defaults.
	Path string `toml:"-"`

	doubts []string // see [Config.Warnings]
}

// Display says in which units and on which clock people read.
type Display struct {
	Pressure    units.PressureUnit    `toml:"pressure"`
	Temperature units.TemperatureUnit `toml:"temperature"`
	Timezone    string                `toml:"timezone"` // a name of the tz database, or Local
	Clock       string                `toml:"clock"`    // 24h or 12h
}

// Units returns what the parts that speak to people need.
func (d Display) Units() units.Display {
	location, err := time.LoadLocation(d.Timezone)
	if err != nil { // Load has refused it
		location = time.UTC
	}
	return units.Display{
		PressureUnit:    d.Pressure,
		TemperatureUnit: d.Temperature,
		Location:        location,
		Clock12:         d.Clock == clock12,
	}
}

// HTTP is the server of the page and the metrics.
type HTTP struct {
	Listen       string   `toml:"listen"`                  // host:port
	PasswordFile string   `toml:"password_file,omitempty"` // holds the hash that nightclamp password makes
	GuestFile    string   `toml:"guest_file,omitempty"`    // holds the word of the link for those who only look
	UserHeader   string   `toml:"user_header,omitempty"`   // in which a reverse proxy gives the user
	Proxies      []string `toml:"proxies,omitempty"`       // the peers whose header is believed; empty: loopback
	Hosts        []string `toml:"hosts,omitempty"`         // names by which browsers may call this machine
	PublicURL    string   `toml:"public_url,omitempty"`    // by which the page is reached from where messages are read
	Cert         string   `toml:"cert,omitempty"`          // PEM files for TLS
	Key          string   `toml:"key,omitempty"`

	password, guest Secret
}

// NATS is the wire: the embedded server, or one to join.
type NATS struct {
	Listen       string `toml:"listen,omitempty"` // host:port of the embedded server
	URL          string `toml:"url,omitempty"`    // the servers to join instead, commas between them
	Credentials  string `toml:"credentials,omitempty"`
	User         string `toml:"user,omitempty"`
	Password     Secret `toml:"password,omitempty"`
	PasswordFile string `toml:"password_file,omitempty"`
	Token        Secret `toml:"token,omitempty"`
	TokenFile    string `toml:"token_file,omitempty"`
	CA           string `toml:"ca,omitempty"`
	Cert         string `toml:"cert,omitempty"`
	Key          string `toml:"key,omitempty"`
	JetStream    bool   `toml:"jetstream"`             // use JetStream where the server has it
	MQTT         string `toml:"mqtt_listen,omitempty"` // host:port at which the embedded server takes MQTT; empty: it does not
}

// HostPort takes Listen apart. The port is -1 where the file says 0: any free
// one.
func (n NATS) HostPort() (host string, port int) { return hostPort(n.Listen) }

// MQTTHostPort takes MQTT apart in the same way; the port is 0 where there is none.
func (n NATS) MQTTHostPort() (host string, port int) {
	if n.MQTT == "" {
		return "", 0
	}
	return hostPort(n.MQTT)
}

func hostPort(address string) (host string, port int) {
	host, text, err := net.SplitHostPort(address)
	if err != nil { // Load has refused it
		return "127.0.0.1", -1
	}
	if port, err = strconv.Atoi(text); err != nil || port == 0 {
		port = -1
	}
	return host, port
}

// Record says how samples are kept.
type Record struct {
	Bucket units.Duration `toml:"bucket"` // sample time that one kept row stands for
	Flush  units.Duration `toml:"flush"`  // sample time that a power cut may cost
	// Ramdisk is a folder on a tmpfs in which the kept rows wait for the next flush,
	// so that it may be long; empty: they wait in memory.
	Ramdisk string `toml:"ramdisk,omitempty"`
	// BuildLog is the folder into which every run is written when it is released;
	// empty: none.
	BuildLog string `toml:"build_log,omitempty"`
	// ThinAfter is how long after its release the samples of a run are thinned to a
	// minute a row; 0: never.
	ThinAfter units.Duration `toml:"thin_after,omitempty"`
	// MaxSize is what the record may take before the oldest runs are thinned so; 0:
	// whatever there is.
	MaxSize units.Bytes `toml:"max_size,omitempty"`
}

// Defaults hold for a run that was started without being told otherwise.
type Defaults struct {
	Glue     string         `toml:"glue,omitempty"` // a datasheet's name; empty: none
	Floor    units.Pressure `toml:"floor"`
	Strained bool           `toml:"strained"`
}

// Shop is what is known of how warm the shop gets; see [Config.ShopKnown].
type Shop struct {
	NightLow   *units.Temperature `toml:"night_low,omitempty"`
	DayHigh    *units.Temperature `toml:"day_high,omitempty"`
	Heating    []string           `toml:"heating,omitempty"` // "07:00 18C", in order
	HeatingLag units.Duration     `toml:"heating_lag"`       // with which the room follows the heating
}

// Alert says who is told.
type Alert struct {
	Ways         []Way  `toml:"way,omitempty"`
	Alertmanager Secret `toml:"alertmanager,omitempty"` // URLs, commas between them; empty: none
	Ping         Ping   `toml:"ping"`
}

// Way is one way out for alerts; see [Config.AlertWays].
type Way struct {
	Name    string         `toml:"name"`
	URL     Secret         `toml:"url,omitempty"`
	URLFile string         `toml:"url_file,omitempty"` // where URL is, so that it need not stand in the config
	AtLeast press.Severity `toml:"at_least"`
	After   units.Duration `toml:"after"`           // told only of what nobody has acknowledged for so long
	Quiet   string         `toml:"quiet,omitempty"` // told only of what wakes between these hours: 22:00-07:00
}

// Ping is the sign of life to a watcher elsewhere. Without a URL there is none.
type Ping struct {
	URL     Secret         `toml:"url,omitempty"`
	URLFile string         `toml:"url_file,omitempty"`
	Every   units.Duration `toml:"every"`
}

// Press is one station that is watched.
type Press struct {
	Name     string         `toml:"name"`
	Glue     string         `toml:"glue,omitempty"`
	Floor    units.Pressure `toml:"floor"`
	Strained bool           `toml:"strained"`
	Interval units.Duration `toml:"interval"` // between two samples
	Lag      units.Duration `toml:"lag"`      // with which the glue line follows the air, where no lay-up tells
	Heated   bool           `toml:"heated"`   // by a blanket or a heated mould

	FreeVolumeL float64 `toml:"free_volume_l,omitempty"` // air space of the bag, litres; 0: not known
	StrokeL     float64 `toml:"stroke_l,omitempty"`      // what one stroke of its hand pump draws, litres; 0: not known

	Pump Pump `toml:"pump"`

	// Tables are the sensors as written; Sensors is what was made of them.
	Tables  []map[string]any `toml:"sensor,omitempty"`
	Sensors []Sensor         `toml:"-"`
}

// Pump is the electric pump that tops the press up. Without a pin there is none.
type Pump struct {
	Pin        string         `toml:"pin,omitempty"`
	ActiveLow  bool           `toml:"active_low"` // the relay is on when the pin is low
	StartBelow units.Pressure `toml:"start_below,omitempty"`
	StopAbove  units.Pressure `toml:"stop_above,omitempty"`
	MinOff     units.Duration `toml:"min_off"`
	MaxRun     units.Duration `toml:"max_run"`
	MaxStarts  int            `toml:"max_starts"` // in an hour
}

// Pins are what hangs on the board's own pins besides sensors and pumps. Without
// a pin there is none.
type Pins struct {
	Lamp   string `toml:"lamp,omitempty"`
	Buzzer string `toml:"buzzer,omitempty"`
	Button string `toml:"button,omitempty"`
	Press  string `toml:"press,omitempty"` // which the button is for; may be empty where there is only one
	Short  string `toml:"short"`           // what a short press means: one of [Meanings]
	Double string `toml:"double"`
	Long   string `toml:"long"`
}

// Sensor is one part of a press and what its driver is told.
type Sensor struct {
	Name   string         // unique on its press; the driver's name where none was given
	Driver string         // a name in the table of drivers
	Keys   map[string]any // the driver's own keys
	Where  string         // file:line of the table, for errors
}
