package main

import (
	"context"
	"errors"
	"io"
	"time"

	"sternfan"

	"github.com/alecthomas/kong"
)

// world is all that the program touches outside itself.
type world struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	terminal       bool // a person's screen is at stdout
	columns        int  // of that screen; 0 is not known
	open           func(path string) (io.ReadCloser, error)
	write          func(path string, data []byte) error // the whole file or none of it
	version        string
	now            func() time.Time
}

// Exit codes.
const (
	exitOK      = 0
	exitFailed  = 1 // it could not be worked out or written
	exitPartial = 3 // a rod is missing from the answer, which stands for the others
	exitFaulty  = 2 // what the person gave is faulty: the file or the command
)

type cli struct {
	Run        runCmd        `cmd:"" help:"Where does every lure run? A table, JSON, CSV, or the lines plan."`
	Paths      pathsCmd      `cmd:"" help:"One rod's possibilities: the path its lure takes at each dial mark as line goes out."`
	Speeds     speedsCmd     `cmd:"" help:"The speed over ground to hold on each heading for a wanted speed at depth."`
	Aim        aimCmd        `cmd:"" help:"Which settings put a rod's lure where it is wanted?"`
	Lay        layCmd        `cmd:"" help:"Lay out the whole spread: rods, holders, gear and settings for the depths you want."`
	Card       cardCmd       `cmd:"" help:"One page for the helm: the order to set, what to dial and count, where each rod runs."`
	Turn       turnCmd       `cmd:"" help:"What happens when the boat turns, stops or a fish takes? Depths through it, and which lines come close."`
	Log        logCmd        `cmd:"" help:"The trip log: write down, correct, list, bring in and hand on."`
	Learn      learnCmd      `cmd:"" help:"What the log says: rates compared, and tomorrow's fair test."`
	Check      checkCmd      `cmd:"" help:"Every fault of a scenario file at once, with its place."`
	Serve      serveCmd      `cmd:"" help:"The app in a browser, on this machine or for phones on the boat's network."`
	Site       siteCmd       `cmd:"" help:"The app as plain files for any HTTPS address, from which phones install it."`
	Schema     schemaCmd     `cmd:"" help:"The JSON Schema of the scenario file, for editors."`
	Completion completionCmd `cmd:"" help:"A script that completes commands and flags in your shell."`
	Version    versionCmd    `cmd:"" help:"Which version this is."`
}

const about = "Works out where every lure of a trolling spread runs: depth with its interval, side and distance astern. " +
	"FILE is a scenario file (see docs/scenario.md), or - for standard input. Not for navigation."

// errHelped ends a run that has printed its help.
var errHelped = errors.New("help was printed")

// usageError is a command that cannot be followed.
type usageError struct{ text, hint string }

func (e *usageError) Error() string {
	if e.hint == "" {
		return e.text
	}
	return e.text + "; " + e.hint
}

// run follows one command and returns the exit code.
func run(ctx context.Context, args []string, w *world) int {
	parser, err := newParser(w)
	if err != nil {
		panic("sternfan: the command line is declared wrongly: " + err.Error())
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	parsed, err := parser.Parse(args)
	if err == nil {
		parsed.BindTo(ctx, (*context.Context)(nil))
		err = parsed.Run(w, parser)
	}
	return exit(w, err)
}

func newParser(w *world) (*kong.Kong, error) {
	return kong.New(&cli{},
		kong.Name("sternfan"),
		kong.Description(about),
		kong.Writers(w.stdout, w.stderr),
		kong.Exit(func(int) {}),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 100}),
		kong.Help(func(o kong.HelpOptions, c *kong.Context) error {
			if err := kong.DefaultHelpPrinter(o, c); err != nil {
				return err
			}
			return errHelped
		}),
	)
}

// partialError is an answer that does not cover every rod. It was written all the same.
type partialError struct{ text string }

func (e *partialError) Error() string { return e.text }

// exit says what went wrong and returns the code for it.
func exit(w *world, err error) int {
	var (
		faults sternfan.Faults
		fault  sternfan.Fault
		parse  *kong.ParseError
		usage  *usageError
		part   *partialError
	)
	switch {
	case err == nil, errors.Is(err, errHelped):
		return exitOK
	case errors.As(err, &faults):
		printFaults(w.stderr, faults)
		return exitFaulty
	case errors.As(err, &fault):
		printFaults(w.stderr, sternfan.Faults{fault})
		return exitFaulty
	case errors.As(err, &usage):
		say(w.stderr, "%s", usage)
		return exitFaulty
	case errors.As(err, &parse):
		say(w.stderr, "%s", parse)
		say(w.stderr, "see sternfan %s--help", commandOf(parse.Context))
		return exitFaulty
	case errors.As(err, &part):
		say(w.stderr, "%s", part)
		return exitPartial
	case errors.Is(err, context.Canceled):
		say(w.stderr, "interrupted; nothing was written")
		return exitFailed
	}
	say(w.stderr, "%s", err)
	return exitFailed
}

// commandOf returns the chosen command with a space after it, or "".
func commandOf(c *kong.Context) string {
	if c == nil || c.Selected() == nil {
		return ""
	}
	return c.Selected().Path() + " "
}
