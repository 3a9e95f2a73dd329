package bus

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// Two processes, told apart by their open files, at the same chip and at
// different ones.
func TestBetweenProcesses(t *testing.T) {
	path := filepath.Join(t.TempDir(), "i2c-1")
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	daemon, command := openLockFile(path), openLockFile(path)
	if daemon == nil || command == nil {
		t.Fatal("the lock file was not opened")
	}
	defer command.close() //nolint:errcheck // it is only a lock
	if err := daemon.lock(t.Context(), 0x48); err != nil {
		t.Fatal(err)
	}
	if err := command.lock(t.Context(), 0x18); err != nil {
		t.Errorf("another chip: %v", err)
	}
	short, cancel := context.WithTimeout(t.Context(), 5*time.Millisecond)
	defer cancel()
	if err := command.lock(short, 0x48); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("the same chip: got %v", err)
	}
	daemon.unlock(0x48)
	if err := command.lock(t.Context(), 0x48); err != nil {
		t.Errorf("the chip is free again: %v", err)
	}
	command.unlock(0x48)
	// A process that dies leaves no lock behind.
	if err := daemon.lock(t.Context(), 0x48); err != nil {
		t.Fatal(err)
	}
	if err := daemon.close(); err != nil {
		t.Fatal(err)
	}
	if err := command.lock(t.Context(), 0x48); err != nil {
		t.Errorf("after its holder went: %v", err)
	}
}

func TestNoLockFile(t *testing.T) {
	for _, name := range []string{"playback", "I2C987654"} {
		b := openBetween(name)
		if err := b.lock(t.Context(), 1); err != nil || b != nil {
			t.Errorf("%s: got %v, %v", name, b, err)
		}
		b.unlock(1)
		if err := b.close(); err != nil {
			t.Error(err)
		}
	}
}
