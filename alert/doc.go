// Package alert turns events into alerts, gives each alert a life, and brings
// it to people.
//
// # What is an alert
//
// One row of the table in table.go is one alert: its name, how loudly it
// speaks, which kinds of event raise and clear it, which smaller alerts it
// swallows, and what it says. One problem is one alert: a bag that opens is
// vacuum_lost, and not a leak, a margin and a floor besides. A new alert is a
// new row.
//
// A [Book] holds the alerts of one press. It is pure: the same events and
// statuses give the same changes, and the only clock is that of the samples.
// What it knows can be restored from the alerts in the record.
//
//	raised ──► acknowledged ──► cleared
//	   └──────────────────────────┘
//
// An alert is cleared only by the event that ends its problem. The events carry
// the hysteresis and the certainty of the estimators that made them, so there
// are no delays of the alert's own, with one exception that rests on the
// pressure itself: while a bag is losing its vacuum so fast that it will be
// open within a minute, the smaller alerts wait to see whether it is.
//
// A wake is said again after 5, 10, 20 and 40 minutes and then every hour, a warn
// after one and two hours and then every four, a note never. Whoever looks after
// an alert acknowledges it, for good or for a while; it speaks up again when the
// while is over, or when it has become more urgent.
//
// A [Board] judges the board itself in the same way, by the wall clock: its disk,
// its record, its ways out, its supply, its heat and its clock.
//
// With [Answers] each message carries a link to a page with one button; the link is
// signed, ends when the message would, and is good for that one alert.
//
// # How it reaches people
//
// [Ways] are the ways out: the log, and any number of URLs, each with the
// severity from which it is told, its quiet hours (which hold back all but wake)
// and, for the next person to ask, how long an alert must have gone without
// answer. A URL is one that the library shoutrrr knows (mail, chats, push
// services; docs in its repository), or
//
//	webhook+https://whsec_BASE64@host/path
//
// for a webhook that is signed as the open Standard Webhooks specification says;
// its message is described by webhook.schema.json.
//
// For every change that somebody should hear of, [Ways.Deliveries] writes
// messages for the outbox, which is kept in the same transaction as the alert
// itself. The [Dispatcher] takes them from there: at least once, the messages of
// one alert in order on each way, the most urgent alert first, again and again
// with growing pauses while the network is down. What a service refuses is tried
// a few times (a network that wants a login first refuses too), then given up
// and reported. It is the only part that looks at the wall clock.
//
// Beside these, an [Alertmanager] is told the whole state, a [Ping] gives a sign
// of life while samples arrive, and a [Signal] sounds and flashes beside the press.
//
// nightclamp is no safety device: it can fail, and so can every way out. Whatever
// could hurt somebody in the night needs its own guard.
package alert
