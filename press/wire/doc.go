// Package wire carries what nightclamp knows over NATS, and takes orders from it.
//
// [Connect] starts a NATS server inside the process, bound to loopback, or
// joins one that is configured, and returns a [Link]. A link publishes, for a
// site and a press named by plain tokens (see [ValidToken]):
//
//	nightclamp.<site>.<press>.sample         every reading, while connected; never kept back
//	nightclamp.<site>.<press>.status         everything known about the press, about once a second
//	nightclamp.<site>.<press>.event.<kind>   what happened to a run
//	nightclamp.<site>.<press>.alert.<name>   a change in the life of an alert
//	nightclamp.<site>.heartbeat              the daemon lives, and when the newest sample of each press was read
//
// Every message is one JSON object with "schema" in it ([press.Schema]). Units
// are SI and stand in the field's name: _pa, _c, _s, _pa_per_h. Times are
// RFC 3339 in UTC. A quantity that is not known is null.
//
// # What must arrive
//
// Events and alerts wait in a [Backlog] until the server has taken them, in
// order. While the link is down they stay there; samples do not. Where the
// server has JetStream, taken means stored: each message carries a Nats-Msg-Id
// and is acknowledged by the stream [StreamName], which the link creates when
// no stream holds these subjects yet. The server drops a second copy of the
// same id within [DedupWindow], so what a lost link held back is there once.
// Without JetStream, taken means that the server answered a ping sent after it.
//
// # Orders
//
// [Link.Serve] offers a [Controller] as the NATS micro service "nightclamp",
// with its endpoints on do.nightclamp.<site>.<verb>, so that ordinary NATS
// tools list, call and watch it. The verbs stand apart from the subjects above
// so that a stream over nightclamp.> never swallows a request. Orders are
// strict JSON: an unknown field is an error that names it. A refused order
// comes back with the codes of [press.Error] in the header
// Nats-Service-Error-Code.
//
// [Dial] returns a [Client], with the same verbs as methods.
//
// Nobody is asked who he is on the embedded server, as on any loopback port:
// whoever has an account on the machine can give orders. [Connect] therefore
// refuses to bind it elsewhere without a password or a token.
package wire
