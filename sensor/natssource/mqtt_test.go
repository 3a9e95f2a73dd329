package natssource

import (
	"bytes"
	"fmt"
	"io"
	"net"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
)

// text is a string as MQTT writes it: its length in two bytes, then it.
func text(s string) []byte { return append([]byte{byte(len(s) >> 8), byte(len(s))}, s...) }

// packet is a control packet of MQTT 3.1.1 (OASIS, section 2) of less than 128
// bytes.
func packet(header byte, parts ...[]byte) []byte {
	body := bytes.Join(parts, nil)
	return append([]byte{header, byte(len(body))}, body...)
}

// A battery sensor that speaks MQTT 3.1.1: CONNECT, PUBLISH at quality of
// service 0, DISCONNECT.
func TestOverMQTT(t *testing.T) {
	s := serve(t, func(o *server.Options) {
		o.ServerName, o.JetStream = "shed", true
		o.MQTT.Host, o.MQTT.Port = "127.0.0.1", -1
	})
	source := open(t, config(s))

	told, err := s.Varz(nil)
	if err != nil {
		t.Fatal(err)
	}
	conn, err := net.DialTimeout("tcp", fmt.Sprintf("127.0.0.1:%d", told.MQTT.Port), 5*time.Second)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close() //nolint:errcheck // it is only a sender
	if err := conn.SetDeadline(time.Now().Add(20 * time.Second)); err != nil {
		t.Fatal(err)
	}
	send := func(b []byte) {
		t.Helper()
		if _, err := conn.Write(b); err != nil {
			t.Fatal(err)
		}
	}
	cleanSession, keepAlive := byte(1<<1), []byte{0, 60}
	send(packet(0x10, text("MQTT"), []byte{4, cleanSession}, keepAlive, text("bag-node")))
	accepted := make([]byte, 4)
	if _, err := io.ReadFull(conn, accepted); err != nil || !bytes.Equal(accepted, []byte{0x20, 2, 0, 0}) {
		t.Fatalf("the server answers % x, %v", accepted, err)
	}
	send(packet(0x30, text("shed/deck/bag"), []byte(`{"bag_pa":16012.5}`)))
	got, err := source.Read(t.Context())
	if err != nil || got.Bag != 16012.5 {
		t.Errorf("got %+v, %v", got, err)
	}
	send(packet(0xE0))
}
