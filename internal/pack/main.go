// Command pack compresses the built app into the folder that package web embeds:
//
//	pack FROM TO [QUALITY]
package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "pack:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) < 2 {
		return fmt.Errorf("give the folder of the built app and the folder to pack it into")
	}
	quality := best
	if len(args) > 2 {
		var err error
		if quality, err = strconv.Atoi(args[2]); err != nil || quality < 0 || quality > best {
			return fmt.Errorf("the quality is 0 to 11, not %s", args[2])
		}
	}
	files, err := pack(args[0], args[1], quality)
	if err != nil {
		return err
	}
	total, first := int64(0), int64(0)
	for _, f := range files {
		name := filepath.Join(args[1], filepath.FromSlash(f.Name))
		if f.Packed {
			name += ".br"
		}
		info, err := os.Stat(name)
		if err != nil {
			return err
		}
		total += info.Size()
		if !later.MatchString(f.Name) {
			first += info.Size()
		}
		fmt.Printf("%9d  %9d  %s\n", f.Size, info.Size(), f.Name)
	}
	fmt.Printf("           %9d  together, compressed\n           %9d  of it to a first drawn spread\n", total, first)
	if quality == best && first > most {
		return fmt.Errorf("a phone would load %d bytes to its first drawn spread; %d is the most", first, int64(most))
	}
	return nil
}

// most is how many bytes a first drawn spread may take, compressed; best is the quality
// at which that is checked.
const (
	most = 1_800_000
	best = 11
)

// later is what the first drawn spread does not need: the whole engine, views that are
// loaded when they are opened, the service worker and what it fetches in its own time.
var later = regexp.MustCompile(`^assets/(sternfan|log|scene|gear|lay|share|teach|turn)-[A-Za-z0-9_-]{8}\.(wasm|js|css)$|` +
	`^(sw|workbox-[0-9a-f]{8})\.js$|^icon-[0-9]+\.png$`)
