package serialport

import (
	"context"
	"fmt"
	"os"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// terminal returns the two ends of a pseudo terminal.
func terminal(t *testing.T) (controller *os.File, port string) {
	t.Helper()
	m, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil {
		t.Skip("no pseudo terminals here:", err)
	}
	t.Cleanup(func() { _ = m.Close() }) // it may be closed by then
	fd := int(m.Fd())                   //nolint:gosec // a descriptor
	if err := unix.IoctlSetPointerInt(fd, unix.TIOCSPTLCK, 0); err != nil {
		t.Skip("no pseudo terminals here:", err)
	}
	n, err := unix.IoctlGetInt(fd, unix.TIOCGPTN)
	if err != nil {
		t.Skip("no pseudo terminals here:", err)
	}
	return m, fmt.Sprintf("/dev/pts/%d", n)
}

// The port itself, with a pseudo terminal for the cable.
func TestTerminal(t *testing.T) {
	controller, port := terminal(t)
	c := Defaults()
	c.Port = port
	s, err := Open(c, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := controller.WriteString("{\"bag_pa\":16000}\n"); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Read(t.Context()); err != nil || got.Bag != 16000 {
		t.Errorf("got %+v, %v", got, err)
	}
	// A read that waits must end when the port is closed under it.
	ended := make(chan error, 1)
	go func() {
		_, err := s.Read(context.Background())
		ended <- err
	}()
	if err := s.Close(); err != nil {
		t.Error(err)
	}
	if err := <-ended; err == nil {
		t.Error("a closed port was read")
	}
}
