package web

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"github.com/coder/websocket"
	"golang.org/x/time/rate"
)

// Guest is one page that has been let in.
type Guest struct {
	conn     *websocket.Conn
	end      context.CancelFunc
	messages *rate.Limiter
	closing  sync.Once
	leaving  atomic.Bool
}

// Why a page is not listened to any longer.
var (
	errManners = errors.New("it sends what no page of ours sends")
	errLeaving = errors.New("it has been sent away")
)

// Read gives the next message of the page. After an error the conversation is over; what was wrong with a message has been said to the page.
func (g *Guest) Read(ctx context.Context) ([]byte, error) {
	kind, message, err := g.conn.Read(ctx)
	switch {
	case errors.Is(err, websocket.ErrMessageTooBig):
		g.Close(fmt.Sprintf("a message is longer than %d bytes", MaxMessage))
		return nil, errManners
	case err != nil:
		return nil, err
	case g.leaving.Load(): // it may go on sending until it has answered that it leaves
		return nil, errLeaving
	case kind != websocket.MessageText:
		g.Close("a message is not text")
		return nil, errManners
	case !g.messages.Allow():
		g.Close("there are too many messages")
		return nil, errManners
	}
	return message, nil
}

// Write sends a message to the page. A page that does not take it in time is gone.
func (g *Guest) Write(ctx context.Context, message []byte) error {
	ctx, cancel := context.WithTimeout(ctx, writeWithin)
	defer cancel()
	return g.conn.Write(ctx, websocket.MessageText, message)
}

// Close ends the conversation for good, with a reason of at most 120 bytes that the page shows. A page whose conversation ends otherwise
// connects again by itself.
func (g *Guest) Close(why string) {
	g.leaving.Store(true)
	g.closing.Do(func() {
		g.conn.Close(websocket.StatusPolicyViolation, why)
		g.end()
	})
}

// watch asks the page again and again whether it is there, and ends the conversation once it is not.
func (g *Guest) watch(ctx context.Context) {
	tick := time.NewTicker(pingEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		within, cancel := context.WithTimeout(ctx, pongWithin)
		err := g.conn.Ping(within)
		cancel()
		if err != nil {
			g.conn.CloseNow()
			g.end()
			return
		}
	}
}
