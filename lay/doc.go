// Package lay lays out a whole spread: which rod goes into which holder, rigged and set
// how, so that the wanted depths are covered, the hard rules hold and the practice of
// the trade is kept as far as it can be.
//
// It works in three stages. Every way to fish one rod by itself is solved once and noted
// as an option (table.go). A search picks an option for every rod, or none (search.go);
// it sees options, what they take from the inventory, and what any two of them do to each
// other, and knows nothing of water. What it picks is refined in the real steps of the
// settings and solved again whole and exactly (stand.go): only what passes the hard rules
// there is a plan. docs/planning.md tells the objective, the rules and how the search
// works.
//
// The same scenario and seed give the same plans. Nothing here reads the clock: work is
// bounded by counts, and a canceled context leaves the best plan so far.
package lay
