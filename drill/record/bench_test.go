package record

import (
	"slices"
	"testing"
	"time"
)

// BenchmarkAppend is what an entry costs the sitting.
func BenchmarkAppend(b *testing.B) {
	w := begin(b, open(b, fresh(b)))
	e := entry(1)
	burst(b, w, func() {
		e.Seq++
		w.Append(e)
	})
}

// BenchmarkInput is what an input costs the sitting.
func BenchmarkInput(b *testing.B) {
	w := begin(b, open(b, fresh(b)))
	body := []byte(`{"press":"shift+a"}`)
	burst(b, w, func() { w.Input(time.Second, body) })
}

// burst times f in bursts as long as the busiest second of a sitting, and lets the store come to rest in between.
func burst(b *testing.B, w *Writer, f func()) {
	for i := 0; b.Loop(); i++ {
		if i%200 == 199 {
			b.StopTimer()
			for busy(w) {
				time.Sleep(time.Millisecond)
			}
			b.StartTimer()
		}
		f()
	}
	b.StopTimer()
	w.End([]byte("{}"), true, Digest{})
}

func busy(w *Writer) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.waiting.size() > 0
}

// BenchmarkStored is the time from an entry's being appended until it is on the disk.
func BenchmarkStored(b *testing.B) {
	w := begin(b, open(b, fresh(b)))
	var took []time.Duration
	for i := 0; b.Loop(); i++ {
		start := time.Now()
		w.Append(entry(i + 1))
		for stored(w) <= i {
			time.Sleep(200 * time.Microsecond)
		}
		took = append(took, time.Since(start))
	}
	w.End([]byte("{}"), true, Digest{})
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2])/1e6, "ms-median")
	b.ReportMetric(float64(took[len(took)*99/100])/1e6, "ms-p99")
}

// stored is how many entries are in the database.
func stored(w *Writer) (n int) {
	w.store.db.QueryRow("SELECT count(*) FROM event WHERE sitting = ?", w.ID()).Scan(&n)
	return n
}
