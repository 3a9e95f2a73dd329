package config

import (
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
)

// Secret is text that must not get into a log, a message or a listing. However
// it is written out, it shows that it is set and no more; see [Secret.Value].
type Secret string

const hidden = "(hidden)"

// Value returns the text itself.
func (s Secret) Value() string { return string(s) }

// String hides the text.
func (s Secret) String() string {
	if s == "" {
		return ""
	}
	return hidden
}

// GoString hides the text from %#v.
func (s Secret) GoString() string { return fmt.Sprintf("config.Secret(%q)", s.String()) }

// LogValue hides the text from slog.
func (s Secret) LogValue() slog.Value { return slog.StringValue(s.String()) }

// MarshalText hides the text.
func (s Secret) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText takes the text as it is.
func (s *Secret) UnmarshalText(text []byte) error { *s = Secret(text); return nil }

// mostSecret is longer than any URL or token.
const mostSecret = 4096

// readSecret reads the secret out of a file of its own: the first line, without
// blanks around it.
func readSecret(path string) (Secret, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close() //nolint:errcheck // only read
	data, err := io.ReadAll(io.LimitReader(f, mostSecret+1))
	if err != nil {
		return "", err
	}
	line, _, _ := strings.Cut(strings.TrimSpace(string(data)), "\n")
	switch {
	case len(data) > mostSecret:
		return "", fmt.Errorf("%s has more than %d bytes; that is no secret", path, mostSecret)
	case line == "":
		return "", fmt.Errorf("%s is empty", path)
	}
	return Secret(strings.TrimSpace(line)), nil
}

// beside makes a path in the config relative to the config's own folder.
func beside(file, path string) string {
	if path == "" || filepath.IsAbs(path) || file == "" {
		return path
	}
	return filepath.Join(filepath.Dir(file), path)
}
