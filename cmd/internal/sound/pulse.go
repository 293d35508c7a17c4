package sound

import (
	"cmp"
	"context"
	"net"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"

	"conewright/ts/notice"

	"github.com/jfreymuth/pulse/proto"
)

// Pulse is the sound server of a Linux machine: PulseAudio, or PipeWire that speaks its
// protocol. docs/decisions/0072-native-sound.md says why its messages are handled here and
// not by a client library.
type Pulse struct{ name string }

// NewPulse returns the sound server, or an error where there is none.
func NewPulse(ctx context.Context) (*Pulse, error) {
	c, err := connect(ctx, nil)
	if err != nil {
		return nil, err
	}
	defer c.close()
	var info proto.GetServerInfoReply
	if err := c.ask(&proto.GetServerInfo{}, &info); err != nil {
		return nil, err
	}
	return &Pulse{name: strings.TrimSpace(info.PackageName + " " + info.PackageVersion)}, nil
}

func (p *Pulse) Kind() string { return "native" }
func (p *Pulse) Name() string { return p.name }

// connection is one connection to the server. Closing it ends all its streams at once.
type connection struct {
	conn   net.Conn
	client *proto.Client
}

// connect connects to the server; heard gets its messages and must not block for long.
func connect(ctx context.Context, heard func(message any)) (*connection, error) {
	if heard == nil {
		heard = func(any) {}
	}
	var last error
	for _, place := range pulsePlaces() {
		conn, err := (&net.Dialer{Timeout: 2 * time.Second}).DialContext(ctx, place.network, place.address)
		if err != nil {
			last = err
			continue
		}
		c := &connection{conn: conn, client: &proto.Client{Callback: heard}}
		c.client.SetTimeout(3 * time.Second)
		c.client.Open(conn)
		if last = c.greet(); last == nil {
			return c, nil
		}
		c.close()
	}
	return nil, notice.New("sound-server", nil).Because(last)
}

// greet says who we are.
func (c *connection) greet() error {
	cookie, err := os.ReadFile(cmp.Or(os.Getenv("PULSE_COOKIE"), filepath.Join(os.Getenv("HOME"), ".config/pulse/cookie")))
	if err != nil {
		cookie = make([]byte, 256) // a server on the same machine knows the user by the socket
	}
	var reply proto.AuthReply
	if err := c.client.Request(&proto.Auth{Version: c.client.Version(), Cookie: cookie}, &reply); err != nil {
		return err
	}
	c.client.SetVersion(reply.Version)
	return c.client.Request(&proto.SetClientName{Props: proto.PropList{
		"application.name": proto.PropListString("Conewright"),
		"media.role":       proto.PropListString("production"),
	}}, &proto.SetClientNameReply{})
}

func (c *connection) close() { c.conn.Close() }

// ask makes a request; what the server refuses becomes a notice.
func (c *connection) ask(request proto.RequestArgs, reply proto.Reply) error {
	if err := c.client.Request(request, reply); err != nil {
		return notice.New("sound-refused", nil).Because(err)
	}
	return nil
}

// pulsePlace is where a server may listen.
type pulsePlace struct{ network, address string }

// pulsePlaces are the places that PULSE_SERVER names, else the usual one of the system.
//
// Source: the page about server strings in the documentation of PulseAudio (from memory).
func pulsePlaces() []pulsePlace {
	if named := strings.Fields(os.Getenv("PULSE_SERVER")); len(named) > 0 {
		var places []pulsePlace
		for _, s := range named {
			if strings.HasPrefix(s, "{") { // only for the machine in braces
				_, s, _ = strings.Cut(s, "}")
			}
			network, address, found := strings.Cut(s, ":")
			switch {
			case strings.HasPrefix(s, "/"):
				places = append(places, pulsePlace{"unix", s})
			case found && (network == "unix" || network == "tcp" || network == "tcp4" || network == "tcp6"):
				places = append(places, pulsePlace{network, address})
			}
		}
		return places
	}
	switch runtime.GOOS {
	case "linux":
		return []pulsePlace{{"unix", filepath.Join(cmp.Or(os.Getenv("XDG_RUNTIME_DIR"), "/run/user/"+strconv.Itoa(os.Getuid())), "pulse/native")}}
	}
	return nil
}

// Devices lists outputs and inputs, the usual ones first and loops last.
func (p *Pulse) Devices(ctx context.Context) (Devices, error) {
	c, err := connect(ctx, nil)
	if err != nil {
		return Devices{}, err
	}
	defer c.close()
	sinks, sources, err := c.list()
	if err != nil {
		return Devices{}, err
	}
	var d Devices
	for _, s := range sinks {
		d.Outputs = append(d.Outputs, s.device)
	}
	for _, s := range sources {
		d.Inputs = append(d.Inputs, s.device)
	}
	return d, nil
}

// pulseDevice is a device with what opening it takes.
type pulseDevice struct {
	device   Device
	index    uint32
	rate     uint32
	channels proto.ChannelMap
	muted    bool
}

// list returns the devices in the order in which they are offered.
func (c *connection) list() (sinks, sources []pulseDevice, err error) {
	var info proto.GetServerInfoReply
	var outputs proto.GetSinkInfoListReply
	var inputs proto.GetSourceInfoListReply
	for _, q := range []struct {
		request proto.RequestArgs
		reply   proto.Reply
	}{{&proto.GetServerInfo{}, &info}, {&proto.GetSinkInfoList{}, &outputs}, {&proto.GetSourceInfoList{}, &inputs}} {
		if err := c.ask(q.request, q.reply); err != nil {
			return nil, nil, err
		}
	}
	for _, s := range outputs {
		sinks = append(sinks, pulseDevice{Device{s.SinkName, describe(s.Properties, s.SinkName), len(s.ChannelMap), s.SinkName == info.DefaultSinkName, false},
			s.SinkIndex, s.Rate, s.ChannelMap, s.Mute})
	}
	for _, s := range inputs {
		sources = append(sources, pulseDevice{Device{s.SourceName, describe(s.Properties, s.SourceName), len(s.ChannelMap), s.SourceName == info.DefaultSourceName, s.MonitorSourceIndex != proto.Undefined},
			s.SourceIndex, s.Rate, s.ChannelMap, s.Mute})
	}
	for _, list := range [][]pulseDevice{sinks, sources} {
		slices.SortStableFunc(list, func(a, b pulseDevice) int { return a.rank() - b.rank() })
		// A loop is never taken unasked: it would measure the output and no driver.
		for i := range list {
			list[i].device.Usual = i == 0 && !list[i].device.Loop
		}
	}
	return sinks, sources, nil
}

func (d pulseDevice) rank() int {
	switch {
	case d.device.Loop:
		return 2
	case d.device.Usual:
		return 0
	}
	return 1
}

func describe(properties proto.PropList, id string) string {
	if e, ok := properties["device.description"]; ok {
		return e.String()
	}
	return id
}

// Open looks the devices up and refuses what cannot measure.
func (p *Pulse) Open(ctx context.Context, output, input string) (Line, error) {
	c, err := connect(ctx, nil)
	if err != nil {
		return nil, err
	}
	defer c.close()
	sinks, sources, err := c.list()
	if err != nil {
		return nil, err
	}
	out, err := pick(sinks, output, "output")
	if err != nil {
		return nil, err
	}
	in, err := pick(sources, input, "input")
	if err != nil {
		return nil, err
	}
	for _, d := range []pulseDevice{out, in} {
		if d.muted {
			return nil, notice.New("sound-muted", notice.Facts{"device": d.device.Name})
		}
	}
	if len(in.channels) < 2 {
		return nil, notice.New("sound-mono", notice.Facts{"device": in.device.Name})
	}
	return &pulseLine{out: out, in: in}, nil
}

// pick returns the device of that ID, or the usual one.
func pick(list []pulseDevice, id, what string) (pulseDevice, error) {
	for _, d := range list {
		if d.device.ID == id || id == "" && d.device.Usual {
			return d, nil
		}
	}
	if id == "" {
		return pulseDevice{}, notice.New("sound-no-device", notice.Facts{"what": what})
	}
	return pulseDevice{}, notice.New("sound-unknown-device", notice.Facts{"what": what, "device": id})
}
