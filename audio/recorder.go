package audio

import (
	"errors"
	"io"
	"sync"
)

// recorder writes what is heard into a WAV file, from a goroutine of its own: the sound does not wait for a disk.
type recorder struct {
	blocks chan []int16
	ended  sync.WaitGroup
	on     bool
	next   Frame // that the file wants next

	mu  sync.Mutex
	err error
}

func newRecorder(file io.WriteSeeker) (*recorder, error) {
	wav, err := newWAVWriter(file)
	if err != nil {
		return nil, err
	}
	r := &recorder{blocks: make(chan []int16, wavBacklog)}
	r.ended.Go(func() {
		for pcm := range r.blocks {
			if r.failure() == nil {
				r.fail(wav.write(pcm))
			}
		}
		if r.failure() == nil {
			r.fail(wav.close())
		}
	})
	return r, nil
}

// begin makes frame zero the first one of the file, of which everything before next has been streamed already, in
// silence. Only the first call counts.
func (r *recorder) begin(zero, next Frame) {
	if r.on {
		return
	}
	r.on, r.next = true, zero
	if lead := min(next-zero, Frames(maxLeadIn)); lead > 0 {
		r.put(make([]int16, lead))
		r.next = next
	}
}

// record takes the frames that were streamed just now; next is the frame after them.
func (r *recorder) record(samples [][2]float64, next Frame) {
	if !r.on || next <= r.next {
		return
	}
	if fresh := next - r.next; fresh < Frame(len(samples)) {
		samples = samples[Frame(len(samples))-fresh:]
	}
	pcm := make([]int16, len(samples))
	for i, v := range samples {
		pcm[i] = sample16(v[0])
	}
	r.next = next
	r.put(pcm)
}

func (r *recorder) put(pcm []int16) {
	if r.failure() != nil {
		return
	}
	select {
	case r.blocks <- pcm:
	default:
		r.fail(wavError(errors.New("the disk is too slow for it")))
	}
}

func (r *recorder) fail(err error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.err == nil {
		r.err = err
	}
}

func (r *recorder) failure() error {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.err
}

// close completes the file and gives the error that ended it early, if one did.
func (r *recorder) close() error {
	close(r.blocks)
	r.ended.Wait()
	return r.failure()
}
