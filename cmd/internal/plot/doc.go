// Package plot draws the figures of the reports: charts with a shared frequency
// or mass axis, gauges of a value between its limits, and rows of intervals on
// one scale. A figure is plain data; [WriteSVG] lays it out for a given width
// and writes it. The same data and width give the same bytes.
//
// The look is that of a sheet drawn in a workshop: one weight of line for the
// frame, a faint ruled grid, the axis title lying flat above its axis, names
// written next to the curves instead of in a box, hatching where a value must
// not be. Everything can be told apart without colour: before is dashed and has
// square points, after is drawn through and has round ones.
//
// Values that are not finite are refused, because a hole in a curve would be
// read as data.
package plot
