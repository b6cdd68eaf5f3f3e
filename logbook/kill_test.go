package logbook_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sternfan/event"

	"sternfan/internal/logtest"
	"sternfan/internal/tier"
	"sternfan/logbook"
)

// writerEnv makes the test binary a writer on the log that it names.
const writerEnv = "LOGBOOK_TEST_WRITER"

func TestMain(m *testing.M) {
	if path := os.Getenv(writerEnv); path != "" {
		if err := writeUntilKilled(path); err != nil {
			fmt.Println("failed", err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// writeUntilKilled appends events, one at a time and in batches, and says each that was
// acknowledged. It ends when nobody listens.
func writeUntilKilled(path string) error {
	ctx := context.Background()
	l, err := logbook.Open(ctx, path, logbook.Options{})
	if err != nil {
		return err
	}
	m := logtest.NewMaker("killed", time.Now().UnixMilli(), rand.Uint64())
	events := m.Day("until it is killed", 4, 200)
	out := bufio.NewWriter(os.Stdout)
	for n := 0; len(events) > 0; n++ {
		k := 1
		if n%4 == 3 {
			k = min(20, len(events))
		}
		if _, err := l.Append(ctx, events[:k]...); err != nil {
			return err
		}
		for _, e := range events[:k] {
			fmt.Fprintln(out, e.ID)
		}
		if err := out.Flush(); err != nil {
			return nil
		}
		if n%10 == 9 {
			if err := l.Refresh(ctx); err != nil {
				return err
			}
		}
		events = events[k:]
	}
	return nil
}

// A writer is killed in the midst of its work, 500 times by make deep. Every event that was
// acknowledged is there, the database is whole, and what is kept of each trip is what its
// events add up to. (A kill leaves what the system holds in its cache; that it reaches
// the disk is what synchronous=FULL asks of the system.)
func TestKilledWritersLoseNothing(t *testing.T) {
	const logs = 4
	kills := tier.Count(25, 125, 1250)
	for n := range logs {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), "log.db")
			r := rand.New(rand.NewPCG(uint64(n), 500))
			var acknowledged []event.ID
			checked := 0
			for k := range kills {
				acknowledged = append(acknowledged, killOne(t, path, r)...)
				if k%25 == 24 {
					checkAfterKills(t, path, acknowledged[checked:])
					checked = len(acknowledged)
				}
			}
			if len(acknowledged) < kills {
				t.Errorf("only %d events were acknowledged in %d lives", len(acknowledged), kills)
			}
			checkAfterKills(t, path, acknowledged)
			t.Logf("%d kills, %d events acknowledged", kills, len(acknowledged))
		})
	}
}

// killOne starts a writer, kills it at a random moment after a random number of events,
// and returns what it acknowledged.
func killOne(t *testing.T, path string, r *rand.Rand) []event.ID {
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), writerEnv+"="+path)
	cmd.Stderr = os.Stderr
	pipe, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	var ids []event.ID
	in := bufio.NewScanner(pipe)
	last := 1 + r.IntN(60)
	for n := 1; in.Scan(); n++ {
		if n == last {
			time.AfterFunc(time.Duration(r.IntN(2000))*time.Microsecond, func() { _ = cmd.Process.Kill() })
		}
		text := in.Text()
		if strings.HasPrefix(text, "failed") {
			t.Errorf("the writer %s", text)
			break
		}
		if id, err := event.ParseID(text); err == nil { // the last line may be cut short
			ids = append(ids, id)
		}
	}
	_ = cmd.Process.Kill()
	_ = cmd.Wait()
	return ids
}

func checkAfterKills(t *testing.T, path string, ids []event.ID) {
	t.Helper()
	l, err := logbook.Open(t.Context(), path, logbook.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	have := map[event.ID]bool{}
	if err := l.Each(t.Context(), logbook.Filter{}, func(a logbook.Arrived) bool {
		have[a.ID] = true
		return true
	}); err != nil {
		t.Fatal(err)
	}
	missing := 0
	for _, id := range ids {
		if !have[id] {
			missing++
		}
	}
	if missing > 0 {
		t.Errorf("%d of %d acknowledged events are gone", missing, len(ids))
	}
	report, err := l.Verify(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if len(report.Faults) > 0 {
		t.Errorf("%v", report.Faults)
	}
}
