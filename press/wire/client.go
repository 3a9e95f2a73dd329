package wire

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/micro"

	"github.com/nightclamp/nightclamp/press"
)

//nolint:gochecknoglobals // a constant in all but name; the pattern is semver.org's, without its capture groups.
var semverPattern = regexp.MustCompile(`^(0|[1-9]\d*)\.(0|[1-9]\d*)\.(0|[1-9]\d*)(-[0-9A-Za-z-]+(\.[0-9A-Za-z-]+)*)?(\+[0-9A-Za-z-]+(\.[0-9A-Za-z-]+)*)?$`)

// Client speaks to a running daemon.
type Client struct {
	nc   *nats.Conn
	url  string
	site string
}

// Dial connects to the server that cfg names, or to the default port on
// loopback, and finds the daemon: the one of cfg.Site, or the only one there
// is. The error says what to do when nobody answers.
func Dial(ctx context.Context, cfg Config) (*Client, error) {
	url := cfg.URL
	if url == "" {
		url = fmt.Sprintf("nats://%s:%d", cfg.host(), cfg.port())
	}
	cfg.URL = url
	if err := cfg.Check(); err != nil {
		return nil, err
	}
	opts, err := cfg.auth()
	if err != nil {
		return nil, err
	}
	opts = append(opts, nats.Name("nightclamp client"), nats.Timeout(3*time.Second), nats.NoReconnect())
	nc, err := nats.Connect(url, opts...)
	if err != nil {
		return nil, noServer(redacted(url), err)
	}
	c := &Client{nc: nc, url: redacted(url), site: cfg.Site}
	if c.site != "" {
		return c, nil
	}
	if c.site, err = c.findSite(ctx); err != nil {
		nc.Close()
		return nil, err
	}
	return c, nil
}

// Close ends the connection.
func (c *Client) Close() { c.nc.Close() }

// Site is the site whose daemon answers.
func (c *Client) Site() string { return c.site }

func noServer(url string, err error) error {
	if errors.Is(err, nats.ErrAuthorization) || errors.Is(err, nats.ErrAuthExpired) {
		return fmt.Errorf("the NATS server at %s does not let us in: %w; set nats.token, nats.user and nats.password, or nats.credentials as the daemon has them", url, err)
	}
	return fmt.Errorf("no nightclamp answers at %s (%w): is `nightclamp serve` running? "+
		"Start it (systemctl start nightclamp), or say where it is with nats.url in the config", url, err)
}

func (c *Client) noDaemon() error {
	where := "at " + c.url
	if c.site != "" {
		where = fmt.Sprintf("for site %q at %s", c.site, c.url)
	}
	return fmt.Errorf("the NATS server answers, but no nightclamp does %s: is `nightclamp serve` running? "+
		"Start it (systemctl start nightclamp), or check the site and nats.url in the config", where)
}

// findSite asks every nightclamp which site it watches.
func (c *Client) findSite(ctx context.Context) (string, error) {
	subject, err := micro.ControlSubject(micro.InfoVerb, service, "")
	if err != nil {
		return "", err
	}
	inbox := c.nc.NewRespInbox()
	sub, err := c.nc.SubscribeSync(inbox)
	if err != nil {
		return "", fmt.Errorf("nats: %w", err)
	}
	defer sub.Unsubscribe() //nolint:errcheck // the connection's end ends it too
	if err := c.nc.PublishRequest(subject, inbox, nil); err != nil {
		return "", fmt.Errorf("nats: %w", err)
	}
	sites, err := collectSites(ctx, sub)
	if err != nil {
		return "", err
	}
	switch len(sites) {
	case 0:
		return "", c.noDaemon()
	case 1:
		return sites[0], nil
	}
	return "", fmt.Errorf("several sites answer at %s: %s; say which with --site", c.url, strings.Join(sites, ", "))
}

// collectSites reads answers until none has come for a while: how many daemons
// there are is not known beforehand.
func collectSites(ctx context.Context, sub *nats.Subscription) ([]string, error) {
	var sites []string
	wait := 2 * time.Second
	for {
		step, cancel := context.WithTimeout(ctx, wait)
		msg, err := sub.NextMsgWithContext(step)
		cancel()
		switch {
		case ctx.Err() != nil:
			return nil, ctx.Err()
		case errors.Is(err, context.DeadlineExceeded), errors.Is(err, nats.ErrNoResponders):
			slices.Sort(sites)
			return slices.Compact(sites), nil
		case err != nil:
			return nil, fmt.Errorf("nats: %w", err)
		}
		var info micro.Info
		if err := json.Unmarshal(msg.Data, &info); err == nil && info.Metadata["site"] != "" {
			sites = append(sites, info.Metadata["site"])
			wait = 50 * time.Millisecond
		}
	}
}

// ask sends an order and reads the answer.
func (c *Client) ask(ctx context.Context, verb string, order, answer any) error {
	data, err := json.Marshal(order)
	if err != nil {
		return fmt.Errorf("%s: order as JSON: %w", verb, err)
	}
	if _, bounded := ctx.Deadline(); !bounded {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, patience+time.Second)
		defer cancel()
	}
	msg, err := c.nc.RequestWithContext(ctx, OrderSubject(c.site, verb), data)
	switch {
	case errors.Is(err, nats.ErrNoResponders):
		return c.noDaemon()
	case err != nil:
		return fmt.Errorf("%s: no answer from %s: %w", verb, c.url, err)
	}
	if code := msg.Header.Get(micro.ErrorCodeHeader); code != "" {
		n, err := strconv.Atoi(code)
		if err != nil {
			n = press.Failed
		}
		return press.Errorf(n, "%s", msg.Header.Get(micro.ErrorHeader))
	}
	if err := json.Unmarshal(msg.Data, answer); err != nil {
		return fmt.Errorf("%s: the daemon's answer cannot be read; is it of another version? %w", verb, err)
	}
	return nil
}
