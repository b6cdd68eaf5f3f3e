package report

// Advance widths of the Go fonts (Bigelow & Holmes, in golang.org/x/image/font/gofont) for
// the ASCII letters from the space on, in hundredths of the letters' height, rounded up.
// A page's words are laid out by them: they err by less than one mean width would, and
// plain type of other makes is as wide to within a few parts in a hundred.
var (
	regularWide = [95]uint8{
		28, 28, 36, 56, 56, 89, 67, 20, 34, 34, 59, 59, 32, 59, 32, 28, 56, 56, 56, 56, 56, 56, 56, 56, 56, 56, 31, 31, 59, 59, 59, 56,
		102, 67, 67, 73, 73, 67, 62, 78, 73, 40, 50, 67, 56, 84, 73, 78, 67, 78, 73, 67, 62, 73, 67, 95, 67, 67, 62, 28, 28, 28, 47, 56,
		34, 56, 56, 50, 56, 56, 28, 56, 56, 25, 26, 50, 27, 84, 56, 56, 56, 56, 34, 50, 29, 56, 50, 73, 50, 50, 50, 34, 26, 34, 59,
	}
	boldWide = [95]uint8{
		28, 34, 48, 56, 56, 89, 73, 24, 34, 34, 56, 59, 28, 59, 28, 28, 56, 56, 56, 56, 56, 56, 56, 56, 56, 56, 34, 34, 59, 59, 59, 62,
		98, 73, 73, 73, 73, 67, 62, 78, 73, 46, 56, 73, 62, 84, 73, 78, 67, 78, 73, 67, 62, 73, 67, 95, 67, 67, 62, 34, 28, 34, 59, 56,
		34, 56, 62, 56, 62, 56, 34, 62, 62, 29, 29, 56, 30, 89, 62, 62, 62, 62, 39, 56, 34, 62, 56, 78, 56, 56, 50, 39, 28, 39, 59,
	}
)

// advance returns the width of a text by the height of its letters.
func advance(text string, bold bool) float64 {
	table := &regularWide
	if bold {
		table = &boldWide
	}
	sum := 0
	for _, r := range text {
		switch {
		case r >= ' ' && r <= '~':
			sum += int(table[r-' '])
		case r == '›':
			sum += 34
		case r == '°':
			sum += 40
		case r > 0x2e7f, r == '…', r == '—': // ideographs and what is as wide
			sum += 100
		default:
			sum += 68 // a letter with a mark, on the wide side
		}
	}
	return float64(sum) / 100
}
