// Command pack compresses the built app into the folder that package web embeds:
//
//	pack FROM TO [QUALITY]
package main

import (
	"fmt"
	"os"
	"path/filepath"
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
	quality := 11
	if len(args) > 2 {
		var err error
		if quality, err = strconv.Atoi(args[2]); err != nil || quality < 0 || quality > 11 {
			return fmt.Errorf("the quality is 0 to 11, not %s", args[2])
		}
	}
	files, err := pack(args[0], args[1], quality)
	if err != nil {
		return err
	}
	total := int64(0)
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
		fmt.Printf("%9d  %9d  %s\n", f.Size, info.Size(), f.Name)
	}
	fmt.Printf("           %9d  together, compressed\n", total)
	return nil
}
