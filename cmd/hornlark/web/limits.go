package web

import (
	"context"
	"net"
	"sync"
	"time"

	"golang.org/x/net/netutil"
	"golang.org/x/time/rate"
)

// What a door lets through, whoever knocks. A sitting goes on beside it in the same process, so what is refused has to be cheap.
const (
	maxHeaders     = 32 << 10         // bytes of the head of a request: a browser sends the cookies of every port
	maxBody        = 1 << 10          // bytes of a body
	MaxMessage     = 8 << 10          // bytes of a message to a page's server
	maxConnections = 48               // at once
	headersWithin  = 5 * time.Second  // that a head may take
	answerWithin   = 10 * time.Second // that a request may take from its beginning to the end of its answer
	idleFor        = 30 * time.Second // that a connection may stand with nothing asked
	writeWithin    = 5 * time.Second  // that a message to a page may take, before its reader counts as gone
	pingEvery      = 5 * time.Second  // how often a page is asked whether it is still there
	pongWithin     = 5 * time.Second  // that it may take to say so: a closed laptop says nothing
	goodbyeWithin  = time.Second      // that pages have for their goodbye at the end
)

// Rates, each with what may come at once.
var (
	connectionRate = pace{100, 100} // new connections in a second; more wait in the queue of the machine
	requestRate    = pace{100, 200} // requests in a second, of everybody together
	codeRate       = pace{0.1, 5}   // codes tried in a second, of one address
	codeRateOfAll  = pace{0.5, 15}  // codes tried in a second, of everybody together: 43,200 in a day, of 2^40
	liveRate       = pace{1, 10}    // conversations begun in a second
	messageRate    = pace{50, 100}  // messages in a second, of one page
)

// pace is how often something may happen in a second, and how often at once.
type pace struct {
	second float64
	once   int
}

func (p pace) limiter() *rate.Limiter { return rate.NewLimiter(rate.Limit(p.second), p.once) }

// maxTriers is of how many addresses it is known how often they have tried; what comes from more of them counts together.
const maxTriers = 256

// tries says who may try a code.
type tries struct {
	mu   sync.Mutex
	all  *rate.Limiter
	each map[string]*rate.Limiter
}

func newTries() *tries { return &tries{all: codeRateOfAll.limiter(), each: map[string]*rate.Limiter{}} }

// may reports whether an address may try a code now, and otherwise after how long.
func (t *tries) may(remote string) (ok bool, after time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	host, _, _ := net.SplitHostPort(remote)
	own := t.each[host]
	if own == nil {
		if len(t.each) >= maxTriers {
			host = ""
			own = t.each[host]
		}
		if own == nil {
			own = codeRate.limiter()
			t.each[host] = own
		}
	}
	one, all := own.Reserve(), t.all.Reserve()
	if after = max(one.Delay(), all.Delay()); after > 0 {
		one.Cancel()
		all.Cancel()
	}
	return after == 0, after
}

// paced is a listener that takes so many connections in a second, and so many at once.
type paced struct {
	net.Listener
	soon  *rate.Limiter
	ended context.Context
	end   context.CancelFunc
}

func newPaced(l net.Listener) *paced {
	p := &paced{Listener: netutil.LimitListener(l, maxConnections), soon: connectionRate.limiter()}
	p.ended, p.end = context.WithCancel(context.Background())
	return p
}

// Accept takes the next connection.
func (p *paced) Accept() (net.Conn, error) {
	if p.soon.Wait(p.ended) != nil {
		return nil, net.ErrClosed
	}
	return p.Listener.Accept()
}

// Close ends it, also for whoever waits for its turn.
func (p *paced) Close() error {
	p.end()
	return p.Listener.Close()
}
