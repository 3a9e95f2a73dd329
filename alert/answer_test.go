package alert

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"
)

func answers(t testing.TB) *Answers {
	t.Helper()
	a, err := NewAnswers("https://shed.example.org/", bytes.Repeat([]byte{7}, 32))
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestAnswerLinks(t *testing.T) {
	a, want := answers(t), Answer{Alert: "sled/margin_gone/20261017T184000.000Z", Way: "phone", Until: night.Add(tooOld).Truncate(time.Second)}
	link := a.Link(want)
	token, ok := strings.CutPrefix(link, "https://shed.example.org/answer/")
	if !ok || len(link) > 200 || strings.ContainsAny(token, "/?#%&+= ") {
		t.Fatalf("link %s", link)
	}
	if got, err := a.Read(token, night); err != nil || got != want {
		t.Errorf("%+v, %v", got, err)
	}
	if _, err := a.Read(token, want.Until); !errors.Is(err, ErrAnswerOld) {
		t.Errorf("at its end: %v", err)
	}
	other, err := NewAnswers("https://shed.example.org", bytes.Repeat([]byte{8}, 32))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := other.Read(token, night); !errors.Is(err, ErrAnswerForged) {
		t.Errorf("with another key: %v", err)
	}
	for i := range token { // no letter of it can be exchanged
		changed := token[:i] + string(token[i]^1) + token[i+1:]
		if _, err := a.Read(changed, night); !errors.Is(err, ErrAnswerForged) {
			t.Errorf("letter %d exchanged: %v", i, err)
		}
	}
}

func TestAnswersThatCannotBe(t *testing.T) {
	key := make([]byte, 32)
	for _, base := range []string{"", "shed.example.org", "ftp://shed", "https://", "https://a:b@shed", "https://shed/?a=b", "https://shed/#x"} {
		if _, err := NewAnswers(base, key); err == nil {
			t.Errorf("%q is taken", base)
		}
	}
	if _, err := NewAnswers("https://shed", key[:31]); err == nil {
		t.Error("a short key is taken")
	}
}

// FuzzAnswer reads anything: only what was made here is taken.
func FuzzAnswer(f *testing.F) {
	a := answers(f)
	made := a.token(Answer{Alert: "sled/leak_found/x", Way: "phone", Until: night.Add(time.Hour)})
	f.Add(made)
	f.Add("")
	f.Add(".")
	f.Add("fA.AAAA")
	f.Fuzz(func(t *testing.T, token string) {
		if _, err := a.Read(token, night); err == nil && token != made {
			t.Errorf("%q is taken", token)
		}
	})
}
