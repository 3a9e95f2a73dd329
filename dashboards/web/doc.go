// Package web serves the built-in page, the API that the page uses, and mounts
// the metrics.
//
// [New] returns one handler for all of it; [Server] an [net/http.Server] with
// limits. Where to listen is the caller's business:
//
//	handler := web.New(web.Config{Source: daemon, Metrics: metrics.Handler(registry, log), Display: display, Log: log})
//	server := web.Server(ctx, handler, log)
//	go server.Serve(listener)
//	<-ctx.Done()                           // ends the open streams
//	server.Shutdown(context.Background())  // then waits for the rest
//
// # Paths
//
//	/                                  the page
//	/api/v1/status                     every press: raw values in SI, and the same as shown to people
//	/api/v1/config                     units, zone and clock of the page
//	/api/v1/stream                     server-sent events: "status" with the answer of /api/v1/status
//	                                   after each change (one a second at most), "beat" when all is quiet
//	/api/v1/presses/{press}/history    the record of one press, thinned; from, to, points
//	/api/v1/presses/{press}/start      and release, top-up, drop-test, weather, note, glue, acknowledge: orders, by POST
//	/api/v1/runs, /api/v1/runs/{run}   every run that was kept, its events, its history
//	/api/v1/glues, /api/v1/glues/{glue}  the adhesives to choose from, one with its curve
//	/api/v1/settings                   the configuration in force, for the owner
//	/api/v1/session                    who asks; POST logs in, DELETE logs out
//	/api/v1/openapi.json               all of this as OpenAPI 3.1
//	/metrics                           Prometheus
//	/healthz                           200 while the daemon serves
//
// An error is a problem object (RFC 9457) whose detail says what to do.
//
// ?wall is the page for a tablet on the wall: the answer and the picture, large,
// without buttons, on a screen that stays on (where the browser lets a page do
// that: over TLS, or on the machine itself).
//
// # Who may
//
// Without a password ([Access]) only this machine is answered. With one
// everybody logs in, in the browser or by basic authentication (a Prometheus);
// tries are limited. Sessions are signed cookies: with a kept key they outlive a
// restart, and end when the password changes. A guest link reads. A reverse
// proxy that logs its users in is believed when its header is configured.
//
// # What the page may do
//
// The page is plain files, embedded; there is nothing to build and nothing is
// loaded from elsewhere. A strict content security policy holds it to that.
// Requests from other origins that would change something are refused, and so
// is any request that was addressed to a name that is not ours (DNS rebinding).
//
// # Staleness
//
// A page that shows an old "sleep" is worse than none. The daemon says how old
// each press's newest sample is, and beats when nothing changes; the page
// counts on from there and says plainly, above the sentence, when the line is
// dead or the readings are old, and for how long.
//
// page/lib holds uPlot (MIT licence) as its npm package has it; lib_test.go
// holds the bytes to the sums of that version.
package web
