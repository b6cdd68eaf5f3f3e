//go:build !core

package engine

// more returns the operations that take longer or come later. The engine that a phone loads first is
// built without them (build tag core) and so without the packages behind them; the whole
// engine follows while the first spread is being looked at.
func more() []Op {
	return append([]Op{
		long("aim", "The settings that put one rod's lure at a depth, best first, or what would.", (*Engine).Aim),
		long("order", "Every rod moved at once: all down 10 ft, or all to 65 ft.", (*Engine).Order),
		long("like", "A setting heard from elsewhere, on this boat's rods.", (*Engine).Like),
		long("lay", "Whole spreads laid out, best first, each as a file.", (*Engine).Lay),
		long("reset", "How one line goes out again while the others are out.", (*Engine).Reset),
		long("turn", "What a manoeuvre does to the spread, sample by sample.", (*Engine).Turn),
		long("tightest", "The smallest radius to each side that keeps the margins.", (*Engine).Tightest),
		op("link", "The part of a link that carries a scenario, after the #.", (*Engine).link),
		long("profile", "The water's temperature by depth from the text of a file.", (*Engine).profile),
		long("card", "The card to stick at the helm, as a drawing to print.", (*Engine).Card),
	}, logOps()...)
}
