package alert

import (
	"encoding/json"
	"errors"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-smtp"

	"github.com/nightclamp/nightclamp/press"
)

// mailbox is a real SMTP server that keeps what it is sent.
type mailbox struct {
	mails  chan string
	refuse error
}

func (m *mailbox) NewSession(*smtp.Conn) (smtp.Session, error) { return &mailSession{m}, nil }

type mailSession struct{ box *mailbox }

func (s *mailSession) Reset()                               { /* nothing is kept of a mail that was begun */ }
func (s *mailSession) Logout() error                        { return nil }
func (s *mailSession) Mail(string, *smtp.MailOptions) error { return s.box.refuse }
func (s *mailSession) Rcpt(string, *smtp.RcptOptions) error { return nil }
func (s *mailSession) Data(r io.Reader) error {
	text, err := io.ReadAll(r)
	s.box.mails <- string(text)
	return err
}

// serveMail starts the SMTP server on loopback and returns its address.
func serveMail(t *testing.T, m *mailbox) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	srv := smtp.NewServer(m)
	go srv.Serve(l)
	t.Cleanup(func() { srv.Close() })
	return l.Addr().String()
}

func TestMail(t *testing.T) {
	m := &mailbox{mails: make(chan string, 1)}
	url := "smtp://" + serveMail(t, m) + "/?from=press@shed.example&to=aune@shed.example&starttls=no"
	s := sender(t, url)
	d := press.Delivery{Title: "deck: vacuum lost", Text: "Vacuum lost at 02:14: 3 kPa left.", Severity: press.Wake}
	if err := s.Send(t.Context(), d); err != nil {
		t.Fatal(err)
	}
	mail := <-m.mails
	for _, part := range []string{"Subject: deck: vacuum lost", "To: aune@shed.example", d.Text} {
		if !strings.Contains(mail, part) {
			t.Errorf("mail lacks %q:\n%s", part, mail)
		}
	}
}

func TestRefusedMailIsPermanent(t *testing.T) {
	for code, permanent := range map[int]bool{550: true, 535: true, 451: false} {
		m := &mailbox{refuse: &smtp.SMTPError{Code: code, Message: "refused"}}
		s := sender(t, "smtp://"+serveMail(t, m)+"/?from=a@b.example&to=c@d.example&starttls=no")
		err := s.Send(t.Context(), press.Delivery{Text: "x"})
		if err == nil || errors.Is(err, ErrPermanent) != permanent {
			t.Errorf("code %d: %v", code, err)
		}
	}
}

// hook serves one webhook URL with handle.
func hook(t *testing.T, handle http.HandlerFunc) string {
	t.Helper()
	srv := httptest.NewServer(handle)
	t.Cleanup(srv.Close)
	return "generic://" + strings.TrimPrefix(srv.URL, "http://") + "/hook/s3cr3t-path?disabletls=yes&template=json"
}

func TestWebhook(t *testing.T) {
	got := make(chan map[string]string, 1)
	url := hook(t, func(_ http.ResponseWriter, r *http.Request) {
		var body map[string]string
		if err := json.NewDecoder(r.Body).Decode(&body); err != nil {
			t.Errorf("body: %v", err)
		}
		got <- body
	})
	d := press.Delivery{Title: "deck: a leak", Text: "A leak of 0.8 kPa/h.", Severity: press.Note}
	if err := sender(t, url).Send(t.Context(), d); err != nil {
		t.Fatal(err)
	}
	if body := <-got; body["title"] != d.Title || body["message"] != d.Text {
		t.Errorf("posted %v", body)
	}
}

func TestTheLinkGoesWithTheMessage(t *testing.T) {
	got := make(chan map[string]string, 1)
	url := hook(t, func(_ http.ResponseWriter, r *http.Request) {
		var body map[string]string
		if err := json.NewDecoder(r.Body).Decode(&body); err != nil {
			t.Errorf("body: %v", err)
		}
		got <- body
	})
	a, d := answers(t), NewDispatcher(newBox(), Ways{}, quiet())
	d.AnswerBy(a)
	m := d.answerable(press.Delivery{Key: "x|raised|1|p", AlertID: "deck/leak_found/x", Way: "p", Text: "A leak.", Created: time.Now()})
	if err := sender(t, url).Send(t.Context(), m); err != nil {
		t.Fatal(err)
	}
	text, link, ok := strings.Cut((<-got)["message"], "\n\nI look after it: ")
	if !ok || text != "A leak." {
		t.Fatalf("posted %q %q", text, link)
	}
	to, err := a.Read(strings.TrimPrefix(link, "https://shed.example.org/answer/"), time.Now())
	if err != nil || to.Alert != "deck/leak_found/x" || to.Way != "p" {
		t.Errorf("the link is for %+v, %v", to, err)
	}
	for _, key := range []string{"x|cleared|1|p", "x|acknowledged|1|p"} {
		if m := d.answerable(press.Delivery{Key: key, Way: "p"}); m.Answer != "" {
			t.Errorf("%s asks for an answer", key)
		}
	}
	if m := d.answerable(press.Delivery{Key: "x|raised|1|log", Way: LogWay}); m.Answer != "" {
		t.Error("the link is in the log")
	}
}

func TestWebhookStatus(t *testing.T) {
	for status, permanent := range map[int]bool{
		http.StatusUnauthorized: true, http.StatusForbidden: true, http.StatusNotFound: true, http.StatusBadRequest: true,
		http.StatusInternalServerError: false, http.StatusBadGateway: false, http.StatusTooManyRequests: false, http.StatusRequestTimeout: false,
	} {
		url := hook(t, func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(status) })
		err := sender(t, url).Send(t.Context(), press.Delivery{Text: "x"})
		if err == nil || errors.Is(err, ErrPermanent) != permanent {
			t.Errorf("status %d: %v", status, err)
		}
	}
}

// TestNoSecretsInErrors: whatever goes wrong, tokens and passwords stay out of
// the log and of the record.
func TestNoSecretsInErrors(t *testing.T) {
	const secret = "s3cr3t-t0ken"
	unreachable := "127.0.0.1:1"
	for _, url := range []string{
		"generic://" + unreachable + "/hook/" + secret + "?disabletls=yes",
		"generic+http://" + unreachable + "/hook?token=" + secret,
		"gotify://" + unreachable + "/Aaaaaaaaa" + secret + "?disabletls=yes",
		"ntfy://user:" + secret + "@" + unreachable + "/topic-" + secret + "?scheme=http",
		"smtp://user:" + secret + "@" + unreachable + "/?from=a@b.example&to=c@d.example",
		"nonsense://user:" + secret + "@host/" + secret,
		"discord://" + secret,
		"telegram://" + secret + "@telegram",
		"://" + secret,
		"generic://host:port" + secret,
	} {
		s, err := openSender(url)
		if err == nil {
			err = s.Send(t.Context(), press.Delivery{Title: "t", Text: "x"})
		}
		if err == nil || strings.Contains(err.Error(), secret) {
			t.Errorf("%s…: error %v", url[:10], err)
		}
	}
}

func TestWaysSayWhatIsWrong(t *testing.T) {
	good := "generic://host/hook"
	for _, c := range []struct {
		ways []Way
		says string
	}{
		{[]Way{{URL: good}}, "no name"},
		{[]Way{{Name: "log", URL: good}}, `"log"`},
		{[]Way{{Name: "a", URL: good}, {Name: "a", URL: good}}, `"a"`},
		{[]Way{{Name: "a", URL: good, AtLeast: "loud"}}, "note, warn or wake"},
		{[]Way{{Name: "a", URL: "pigeon://x"}}, "no such service; known are bark"},
		{[]Way{{Name: "a", URL: "plain words"}}, "service://"},
	} {
		if _, err := NewWays(c.ways, quiet()); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: %v", c.ways, err)
		}
	}
}

// TestAServerThatNeverAnswers: the library cannot be interrupted, so sends that
// hang are counted and do not pile up.
func TestAServerThatNeverAnswers(t *testing.T) {
	release := make(chan struct{})
	url := hook(t, func(http.ResponseWriter, *http.Request) { <-release })
	t.Cleanup(func() { close(release) }) // before the server closes, which waits for its handlers
	s := sender(t, url)
	over, cancel := contextOver(t)
	defer cancel()
	for i := range 5 {
		err := s.Send(over, press.Delivery{Text: "x"})
		if err == nil || strings.Contains(err.Error(), "still hang") != (i >= 3) {
			t.Errorf("send %d: %v", i, err)
		}
	}
}

func TestPriorityOnlyWhereItIsUnderstood(t *testing.T) {
	for url, want := range map[string]string{
		"ntfy://host/topic": "5", "gotify://host/Aaaaaaaaaaaaaaa": "8", "ntfy://host/topic?priority=1": "", "generic://host/x": "",
	} {
		s := sender(t, url).(*urlSender)
		if got, _ := s.priority(press.Wake); got != want {
			t.Errorf("%s: priority %q, want %q", url, got, want)
		}
	}
}

func sender(t *testing.T, url string) Sender {
	t.Helper()
	s, err := openSender(url)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestTheWholeWay: from an alert to a mailbox and a webhook that is down at first.
func TestTheWholeWay(t *testing.T) {
	m := &mailbox{mails: make(chan string, 4)}
	posted := make(chan string, 4)
	first := true
	url := hook(t, func(w http.ResponseWriter, r *http.Request) {
		if first {
			first = false
			w.WriteHeader(http.StatusServiceUnavailable)
			return
		}
		body, _ := io.ReadAll(r.Body)
		posted <- string(body)
	})
	ways, err := NewWays([]Way{
		{Name: "mail", URL: "smtp://" + serveMail(t, m) + "/?from=a@b.example&to=c@d.example&starttls=no", AtLeast: press.Wake},
		{Name: "hook", URL: url},
	}, quiet())
	if err != nil {
		t.Fatal(err)
	}
	s := newStory(t)
	s.st.Verdict = press.WillNotHold
	s.hold(press.MarginGone, "")
	s.event(press.MarginGone)
	b := newBox(ways.Deliveries(s.all)...)
	runDispatcher(t, NewDispatcher(b, ways, quiet()))
	for name, from := range map[string]chan string{"mail": m.mails, "hook": posted} {
		select {
		case text := <-from:
			if !strings.Contains(text, "Top up or re-seal") {
				t.Errorf("%s says %s", name, text)
			}
		case <-time.After(10 * time.Second):
			t.Errorf("nothing came by %s", name)
		}
	}
}
