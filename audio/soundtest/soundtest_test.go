package soundtest

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// The line of a long recording is that of the device, however often the machine stood still and the server then ran ahead.
func TestTypicalKeepsThePace(t *testing.T) {
	const pace = nominal * (1 + 62e-6) // a null sink was seen to be as far off
	draw := rand.New(rand.NewPCG(1, 2))
	zero := time.Now()
	var reads []read
	for n := range 720_000 { // an hour of pieces of 5 ms
		first := n * Rate / 200
		late := time.Duration(draw.ExpFloat64() * float64(time.Millisecond))
		if n%50_000 < 20 { // it stands still, and runs ahead
			late = time.Duration(draw.IntN(90)-6) * time.Millisecond
		}
		reads = append(reads, read{zero.Add(time.Duration(float64(first)*pace*1e9) + late), first})
	}
	start, got := typical(reads)
	last := reads[len(reads)-1].first
	if drift := math.Abs(got-pace) * float64(last); drift > 0.1e-3 {
		t.Errorf("over an hour the line is out by %.3f ms, want 0.1", 1e3*drift)
	}
	if off := start.Sub(zero); off < 0 || off > 2*time.Millisecond {
		t.Errorf("it begins %v off, want between the earliest and a late read", off)
	}
}
