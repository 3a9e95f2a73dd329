// Command nightclamp watches a vacuum press and answers one question all night:
// will this bag hold until the glue has cured?
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

func main() { os.Exit(run()) }

func run() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	streams := streams{in: os.Stdin, out: os.Stdout, err: os.Stderr}
	return execute(ctx, streams, os.Args[1:])
}
