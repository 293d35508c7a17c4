package plot

import (
	"fmt"
	"sort"
	"strings"
)

const (
	tickSize   = 12.0 // px, of the numbers at the axes
	labelSize  = 12.5 // px, of axis titles and names beside curves
	titleSize  = 15.0 // px, of the heading of a standalone file
	fontFamily = "Helvetica Neue, Helvetica, Arial, Liberation Sans, DejaVu Sans, sans-serif"
)

// colour is one ink on light and on dark paper. Each has a contrast of at least
// 4.5 to 1 against its paper where it carries text.
type colour struct{ name, light, dark string }

var colours = []colour{
	{"paper", "#fffefa", "#171b1d"},
	{"ink", "#1f2a30", "#e8e6df"},
	{"quiet", "#5b656b", "#a3abaf"}, // numbers at the axes
	{"grid", "#dddbd3", "#353c40"},
	{"faint", "#eeece5", "#252b2e"}, // minor grid
	{"before", "#9c4210", "#f2a766"},
	{"after", "#0b5a62", "#74c9cd"},
	{"tint", "#e6efe3", "#22342a"}, // permitted range
	{"edge", "#3f6b45", "#8fc096"}, // its ends
	{"hatch", "#8b9297", "#768087"},
}

// look is how a class of marks is painted. Names of colours are those of the
// table above.
type look struct {
	stroke, fill string
	width        float64
	more         string // further attributes
}

var looks = map[string]look{
	"paper":     {fill: "paper"},
	"frame":     {stroke: "ink", width: 1},
	"grid":      {stroke: "grid", width: 1},
	"minor":     {stroke: "faint", width: 1},
	"zero":      {stroke: "quiet", width: 1},
	"tint":      {fill: "tint"},
	"edge":      {stroke: "edge", width: 1.2, more: `stroke-dasharray="2 2"`},
	"hatchline": {stroke: "hatch", width: 1.6},
	"leader":    {stroke: "quiet", width: 0.8},

	"line-plain":  {stroke: "ink", width: 1.7, more: `stroke-linejoin="round"`},
	"line-before": {stroke: "before", width: 1.9, more: `stroke-dasharray="7 4" stroke-linejoin="round"`},
	"line-after":  {stroke: "after", width: 1.9, more: `stroke-linejoin="round"`},
	"line-aside":  {stroke: "quiet", width: 1.5, more: `stroke-dasharray="1.5 3" stroke-linecap="round" stroke-linejoin="round"`},

	"dots-plain":  {stroke: "ink", width: 5, more: `stroke-linecap="round"`},
	"dots-before": {stroke: "before", width: 5, more: `stroke-linecap="square"`},
	"dots-after":  {stroke: "after", width: 5, more: `stroke-linecap="round"`},
	"dots-aside":  {stroke: "quiet", width: 4, more: `stroke-linecap="round"`},

	// Clouds of measured points under a line that was fitted to them.
	"cloud-plain":  {stroke: "ink", width: 3.4, more: `stroke-linecap="round" stroke-opacity="0.4"`},
	"cloud-before": {stroke: "before", width: 3, more: `stroke-linecap="square" stroke-opacity="0.4"`},
	"cloud-after":  {stroke: "after", width: 3.4, more: `stroke-linecap="round" stroke-opacity="0.4"`},
	"cloud-aside":  {stroke: "quiet", width: 3, more: `stroke-linecap="round" stroke-opacity="0.4"`},

	"bar-plain":  {stroke: "ink", width: 1.2},
	"bar-before": {stroke: "before", width: 1.2},
	"bar-after":  {stroke: "after", width: 1.2},
	"bar-aside":  {stroke: "quiet", width: 1.2},

	"band-plain":  {fill: "ink", more: `fill-opacity="0.13"`},
	"band-before": {fill: "before", more: `fill-opacity="0.16"`},
	"band-after":  {fill: "after", more: `fill-opacity="0.16"`},
	"band-aside":  {fill: "quiet", more: `fill-opacity="0.16"`},

	// Intervals of gauges: a thick bar with a mark on it.
	"beam-plain":  {stroke: "ink", width: 5, more: `stroke-opacity="0.45"`},
	"beam-before": {stroke: "before", width: 5, more: `stroke-opacity="0.45"`},
	"beam-after":  {stroke: "after", width: 5, more: `stroke-opacity="0.45"`},
	"beam-aside":  {stroke: "quiet", width: 5, more: `stroke-opacity="0.45"`},

	"mark-plain":  {stroke: "paper", fill: "ink", width: 1},
	"mark-before": {stroke: "before", fill: "paper", width: 1.6},
	"mark-after":  {stroke: "paper", fill: "after", width: 1},
	"mark-aside":  {stroke: "quiet", fill: "paper", width: 1.4},

	"title":       {fill: "ink", more: fmt.Sprintf(`font-size="%v" font-weight="bold"`, titleSize)},
	"axis":        {fill: "ink", more: fmt.Sprintf(`font-size="%v"`, labelSize)},
	"tick":        {fill: "quiet"},
	"word":        {fill: "ink", more: fmt.Sprintf(`font-size="%v"`, labelSize)},
	"strong":      {fill: "ink", more: fmt.Sprintf(`font-size="%v" font-weight="bold"`, labelSize)},
	"name-plain":  {stroke: "paper", fill: "ink", width: 3, more: halo},
	"name-before": {stroke: "paper", fill: "before", width: 3, more: halo},
	"name-after":  {stroke: "paper", fill: "after", width: 3, more: halo},
	"name-aside":  {stroke: "paper", fill: "quiet", width: 3, more: halo},
	"name-edge":   {stroke: "paper", fill: "edge", width: 3, more: halo},
}

// halo keeps a name readable where a line runs behind it.
const halo = `font-size="12.5" paint-order="stroke" stroke-linejoin="round"`

// attributes returns class and presentation attributes of a mark. The
// attributes carry the colours for light paper, so that readers that do not
// know style sheets still draw the figure.
func attributes(class string) string {
	l, ok := looks[class]
	if !ok {
		panic("plot: no look for class " + class)
	}
	var b strings.Builder
	fmt.Fprintf(&b, `class="%s" fill="%s"`, class, lightOf(l.fill))
	if l.stroke != "" {
		fmt.Fprintf(&b, ` stroke="%s" stroke-width="%v"`, lightOf(l.stroke), l.width)
	}
	if l.more != "" {
		b.WriteString(" " + l.more)
	}
	return b.String()
}

func lightOf(name string) string {
	for _, c := range colours {
		if c.name == name {
			return c.light
		}
	}
	return "none"
}

// CSS returns the style sheet of all figures. A page carries it once. Colours
// are the custom properties --plot-ink and so on, which a page may set anew for
// svg.plot; on a screen that asks for it they turn dark, on paper they never do.
func CSS() string {
	var light, dark, rules strings.Builder
	for _, c := range colours {
		fmt.Fprintf(&light, "--plot-%s:%s;", c.name, c.light)
		fmt.Fprintf(&dark, "--plot-%s:%s;", c.name, c.dark)
		var fills, strokes []string
		for _, class := range sortedClasses() {
			if looks[class].fill == c.name {
				fills = append(fills, ".plot ."+class)
			}
			if looks[class].stroke == c.name {
				strokes = append(strokes, ".plot ."+class)
			}
		}
		if len(fills) > 0 {
			fmt.Fprintf(&rules, "%s{fill:var(--plot-%s)}\n", strings.Join(fills, ","), c.name)
		}
		if len(strokes) > 0 {
			fmt.Fprintf(&rules, "%s{stroke:var(--plot-%s)}\n", strings.Join(strokes, ","), c.name)
		}
	}
	return "\n.plot{" + light.String() + "}\n" +
		"@media screen and (prefers-color-scheme:dark){.plot{" + dark.String() + "}}\n" +
		rules.String()
}

// sortedClasses makes the style sheet the same every time.
func sortedClasses() []string {
	out := make([]string, 0, len(looks))
	for class := range looks {
		out = append(out, class)
	}
	sort.Strings(out)
	return out
}
