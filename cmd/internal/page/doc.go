// Package page is the paper that all sheets of this program are printed on: the
// frame of an HTML file that needs nothing else, its style sheet for screen,
// phone and paper, and figures in the two widths that a page carries.
//
// Classes of the style sheet: "answer" with "good", "bad" or "open" is the box of
// the verdict, "caution" a caution, "record" the list of how it was measured,
// "note" small print, "numbers" a section that holds a table. In a table, "right"
// is a number and "unit" the unit of the number before it; data-head carries the
// head of a column to the card that a row becomes on a phone.
package page
