//go:build outside

package browser

import (
	"fmt"
	"strings"
)

// Problems lists what is wrong with a page of ours: requests beyond the file
// itself, complaints of the browser, a page wider than the screen, elements that
// stick out of it, and drawings that are empty, cut off or have texts on top of
// each other, as the browser has set them with its own font.
func (p *Page) Problems() []string {
	p.t.Helper()
	var problems []string
	if got := p.Requests(); len(got) != 1 || !strings.HasPrefix(got[0], "file://") {
		problems = append(problems, fmt.Sprintf("the page asked for %q", got))
	}
	if got := p.Complaints(); len(got) > 0 {
		problems = append(problems, fmt.Sprintf("the browser complains: %q", got))
	}
	return append(problems, Eval[[]string](p, inspect)...)
}

const inspect = `(() => {
  const problems = [];
  const name = e => '"' + e.textContent.trim().slice(0, 40) + '"';
  for (const svg of document.querySelectorAll('svg.plot')) {
    const all = svg.getBoundingClientRect();
    if (all.width === 0) continue; // the drawing for the other width
    if (all.height < 40) problems.push('a drawing is ' + all.height + ' px high');
    const drawn = [...svg.querySelectorAll('path')].filter(e => !e.closest('defs'));
    const sizes = drawn.map(e => e.getBoundingClientRect());
    if (!sizes.some(b => b.width > 0.3 * all.width)) problems.push('a drawing has nothing in it');
    const texts = [...svg.querySelectorAll('text')].map(e => [e, e.getBoundingClientRect()]);
    if (texts.length < 3) problems.push('a drawing has hardly any text');
    texts.forEach(([e, b], i) => {
      if (b.left < all.left - 1 || b.right > all.right + 1 || b.top < all.top - 1 || b.bottom > all.bottom + 1)
        problems.push(name(e) + ' is cut off');
      for (const [f, c] of texts.slice(0, i)) {
        const w = Math.min(b.right, c.right) - Math.max(b.left, c.left), h = Math.min(b.bottom, c.bottom) - Math.max(b.top, c.top);
        if (w > 1 && h > 3) problems.push(name(e) + ' lies on ' + name(f));
      }
    });
  }
  const wider = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  if (wider > 0) problems.push('the page is ' + wider + ' px wider than the screen');
  for (const e of document.querySelectorAll('main *')) {
    const b = e.getBoundingClientRect();
    if (!e.closest('svg') && b.width > 0 && (b.left < -0.5 || b.right > document.documentElement.clientWidth + 0.5))
      problems.push(e.tagName + ' ' + name(e) + ' sticks out of the page');
  }
  return problems;
})()`
