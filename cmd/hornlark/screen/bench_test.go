//go:build linux

package screen

import (
	"fmt"
	"math/rand/v2"
	"runtime"
	"runtime/debug"
	"slices"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// BenchmarkPressStamp is how much later than it was typed a press is stamped: from just before a byte is written to the
// pseudo-terminal until the stamp, in another process, which draws the screen at its full rate meanwhile. "wrapped" is
// the same with the terminal library reading the keys, and "still" is without any drawing: what the machine itself does
// to a stamp. Run it with -benchtime=1000x.
func BenchmarkPressStamp(b *testing.B) {
	for _, way := range []struct{ name, role string }{
		{"own-thread", "sitting"}, {"wrapped", "wrapped"}, {"still", "still"},
	} {
		b.Run(way.name, func(b *testing.B) {
			s := startJob(b, way.role, usual)
			s.await("drawn")
			runtime.LockOSThread() // nothing of this process shall come between taking the time and writing
			defer runtime.UnlockOSThread()
			defer debug.SetGCPercent(debug.SetGCPercent(-1))
			master, key := int(s.master.Fd()), []byte("a")
			random := rand.New(rand.NewPCG(1, 2))
			late := make([]float64, 0, b.N)
			for b.Loop() {
				time.Sleep(10*time.Millisecond + time.Duration(random.IntN(20e6)))
				written := monotonic()
				if _, err := unix.Write(master, key); err != nil {
					b.Fatal(err)
				}
				late = append(late, float64(s.await("stroke").At-written)/1e6)
			}
			slices.Sort(late)
			b.ReportMetric(late[len(late)/2], "p50-ms")
			b.ReportMetric(late[len(late)*99/100], "p99-ms")
			b.ReportMetric(late[len(late)-1], "max-ms")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// BenchmarkFrame is the cost of one frame, from a view to the text that the terminal library is given.
func BenchmarkFrame(b *testing.B) {
	p := twin(b)
	for _, size := range [][2]int{{80, 24}, {140, 45}} {
		b.Run(fmt.Sprintf("%dx%d", size[0], size[1]), func(b *testing.B) {
			page := newSitting(options(p))
			page.view = *troubled(p)
			d := &drawing{stage: &stage{page: page}, canvas: newCanvas(0, 0), width: size[0], height: size[1]}
			b.ReportAllocs()
			for b.Loop() {
				d.View()
			}
		})
	}
}
