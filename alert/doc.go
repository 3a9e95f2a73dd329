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
// # How it reaches people
//
// [Ways] are the ways out: the log, and any number of URLs. For every change
// that somebody should hear of, [Ways.Deliveries] writes messages for the
// outbox, which is kept in the same transaction as the alert itself. The
// [Dispatcher] takes them from there: at least once, the messages of one alert
// in order on each way, again and again with growing pauses while the network
// is down. It is the only part that looks at the wall clock.
package alert
