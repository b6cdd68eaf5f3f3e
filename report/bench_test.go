package report

import "testing"

func BenchmarkLinesPlan(b *testing.B) {
	fan, sc := summer()
	for b.Loop() {
		LinesPlan(fan, sc, Options{})
	}
}
