package alert

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"
)

// AnswerPath is where the page takes answers; the token follows.
const AnswerPath = "/answer/"

// The reasons why a token is not taken.
var (
	ErrAnswerForged = errors.New("this link was not made here, or is not whole; copy it whole, or acknowledge on the page")
	ErrAnswerOld    = errors.New("this link is too old to be used; acknowledge on the page")
)

// answerAtMost bounds what is read of a token.
const answerAtMost = 1024

// Answers makes the links by which whoever got a message says that they look
// after its alert, without logging in. A link is good for one alert and for as
// long as its message would still be sent. It carries no right but that one.
type Answers struct {
	base string
	key  []byte
}

// Answer is what a link stands for.
type Answer struct {
	Alert string    // its ID
	Way   string    // by which it was sent
	Until time.Time // when the link ends
}

// NewAnswers makes links below base, the URL by which the page is reached from
// where the messages are read. key has at least 32 random bytes.
func NewAnswers(base string, key []byte) (*Answers, error) {
	if err := CheckBase(base); err != nil {
		return nil, err
	}
	if len(key) < 32 {
		return nil, fmt.Errorf("a key of %d bytes signs no links; take 32 random ones", len(key))
	}
	return &Answers{base: strings.TrimRight(base, "/"), key: key}, nil
}

// CheckBase refuses what links cannot begin with.
func CheckBase(base string) error {
	u, err := url.Parse(base)
	if err != nil || (u.Scheme != "https" && u.Scheme != "http") || u.Host == "" || u.User != nil || u.RawQuery != "" || u.Fragment != "" {
		return fmt.Errorf("%q cannot be used in links; write it as https://host, without a query", base)
	}
	return nil
}

// Link is the URL of one answer.
func (a *Answers) Link(to Answer) string { return a.base + AnswerPath + a.token(to) }

func (a *Answers) token(to Answer) string {
	text := strconv.FormatInt(to.Until.Unix(), 36) + "|" + to.Way + "|" + to.Alert
	encode := base64.RawURLEncoding.EncodeToString
	return encode([]byte(text)) + "." + encode(a.sign(text))
}

// sign is the first 144 bits of an HMAC-SHA256.
func (a *Answers) sign(text string) []byte {
	mac := hmac.New(sha256.New, a.key)
	mac.Write([]byte("nightclamp answer 1\n" + text))
	return mac.Sum(nil)[:18]
}

// Read takes a token apart. Its errors are [ErrAnswerForged] and [ErrAnswerOld].
func (a *Answers) Read(token string, now time.Time) (Answer, error) {
	head, tail, found := strings.Cut(token, ".")
	text, err1 := base64.RawURLEncoding.Strict().DecodeString(head)
	signed, err2 := base64.RawURLEncoding.Strict().DecodeString(tail)
	if !found || len(token) > answerAtMost || err1 != nil || err2 != nil || !hmac.Equal(signed, a.sign(string(text))) {
		return Answer{}, ErrAnswerForged
	}
	parts := strings.SplitN(string(text), "|", 3)
	if len(parts) != 3 {
		return Answer{}, ErrAnswerForged
	}
	until, err := strconv.ParseInt(parts[0], 36, 64)
	if err != nil {
		return Answer{}, ErrAnswerForged
	}
	to := Answer{Alert: parts[2], Way: parts[1], Until: time.Unix(until, 0).UTC()}
	if !now.Before(to.Until) {
		return to, ErrAnswerOld
	}
	return to, nil
}
