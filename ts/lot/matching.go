package lot

// cheapestPairs returns for each of n vertices, n even, the vertex it is paired
// with, so that every vertex has a partner and the sum of cost(i, j) >= 0 is as
// small as it can be: the minimum-weight perfect matching of a complete graph.
//
// Costs are rounded to parts in 2^40 of the largest one.
//
// Method: Edmonds' blossoms in the primal-dual form, of order n^3 in time and
// n^2 in memory. Alternating trees grow from the unmatched vertices along tight
// edges; an odd cycle is shrunk into one node, a tree that reaches another one
// augments the matching, and where nothing is tight the duals move. Source:
// Edmonds, J. Res. NBS 69B, 1965; Galil, ACM Comput. Surv. 18(1), 1986 (from
// memory), checked against trying all pairings.
func cheapestPairs(n int, cost func(i, j int) float64) []int {
	if n == 0 {
		return nil
	}
	most := 0.0
	for i := range n {
		for j := range i {
			most = max(most, cost(i, j))
		}
	}
	scale := 0.0
	if most > 0 {
		scale = (1 << 40) / most
	}
	// A base that outweighs all costs together makes the heaviest matching a
	// perfect one.
	base := int64(n+1) << 40
	m := newBlossoms(n)
	for i := range n {
		for j := range n {
			if i != j {
				m.edge[i][j] = arc{i, j}
				m.weight[i][j] = base - int64(cost(max(i, j), min(i, j))*scale)
			}
		}
	}
	m.run()
	return m.mate[:n]
}

// nobody marks the absence of a node or vertex.
const nobody = -1

// arc is an edge between two vertices, seen from a node that holds from.
type arc struct{ from, to int }

// treeLabel is the place of a node in an alternating tree.
type treeLabel uint8

const (
	unlabelled treeLabel = iota
	outer                // an even number of edges from the root
	inner                // an odd number
)

// blossoms is the state of the search. Nodes 0 to n-1 are the vertices, higher
// ones are shrunk odd cycles.
type blossoms struct {
	n, nodes int
	weight   [][]int64 // of vertices
	dual     []int64   // of nodes; twice the usual one
	edge     [][]arc   // between nodes: the arc with the least slack
	mate     []int     // of a node: the vertex at the other end, or nobody
	outside  []int     // of a node: the node that now contains it and is not contained itself
	parent   []int     // of an inner or outer node: the vertex it was reached from
	label    []treeLabel
	nearest  []int   // of a node: the outer vertex with the least slack to it
	members  [][]int // of a blossom: its nodes around the cycle, the base first
	through  [][]int // of a blossom and a vertex: the member that holds the vertex
	seen     []int
	stamp    int
	queue    []int
}

func newBlossoms(n int) *blossoms {
	size := n + n/2 + 1
	m := &blossoms{n: n, nodes: n, weight: make([][]int64, n), dual: make([]int64, size), edge: make([][]arc, size), mate: make([]int, size),
		outside: make([]int, size), parent: make([]int, size), label: make([]treeLabel, size), nearest: make([]int, size),
		members: make([][]int, size), through: make([][]int, size), seen: make([]int, size)}
	for a := range size {
		m.edge[a] = make([]arc, size)
		m.through[a] = make([]int, n)
		for b := range size {
			m.edge[a][b] = arc{nobody, nobody}
		}
		for v := range n {
			m.through[a][v] = nobody
		}
		m.mate[a], m.outside[a] = nobody, nobody
		if a < n {
			m.weight[a] = make([]int64, n)
			m.outside[a], m.through[a][a] = a, a
		}
	}
	return m
}

func (m *blossoms) run() {
	var heaviest int64
	for u := range m.n {
		for v := range m.n {
			heaviest = max(heaviest, m.weight[u][v])
		}
	}
	for v := range m.n {
		m.dual[v] = heaviest
	}
	for m.stage() {
	}
}

// slack is how far an arc is from tight.
func (m *blossoms) slack(e arc) int64 {
	return m.dual[e.from] + m.dual[e.to] - 2*m.weight[e.from][e.to]
}

func (m *blossoms) exists(e arc) bool { return e.from != nobody }

// consider notes u as a way to reach node x.
func (m *blossoms) consider(u, x int) {
	if near := m.nearest[x]; near == nobody || m.slack(m.edge[u][x]) < m.slack(m.edge[near][x]) {
		m.nearest[x] = u
	}
}

func (m *blossoms) findNearest(x int) {
	m.nearest[x] = nobody
	for u := range m.n {
		if m.exists(m.edge[u][x]) && m.outside[u] != x && m.label[m.outside[u]] == outer {
			m.consider(u, x)
		}
	}
}

// enqueue puts the vertices of a node that became outer on the queue.
func (m *blossoms) enqueue(x int) {
	if x < m.n {
		m.queue = append(m.queue, x)
		return
	}
	for _, y := range m.members[x] {
		m.enqueue(y)
	}
}

// contain records that everything in x now belongs to the outermost node b.
func (m *blossoms) contain(x, b int) {
	m.outside[x] = b
	if x >= m.n {
		for _, y := range m.members[x] {
			m.contain(y, b)
		}
	}
}

// position returns the even distance of member x from the base of b around the
// cycle, turning the cycle round if it is odd.
func (m *blossoms) position(b, x int) int {
	ring := m.members[b]
	at := 0
	for ring[at] != x {
		at++
	}
	if at%2 == 0 {
		return at
	}
	for i, j := 1, len(ring)-1; i < j; i, j = i+1, j-1 {
		ring[i], ring[j] = ring[j], ring[i]
	}
	return len(ring) - at
}

// match pairs node u with node v along their arc, and what is inside u with it.
func (m *blossoms) match(u, v int) {
	e := m.edge[u][v]
	m.mate[u] = e.to
	if u < m.n {
		return
	}
	entry := m.through[u][e.from]
	at := m.position(u, entry)
	for i := range at {
		m.match(m.members[u][i], m.members[u][i^1])
	}
	m.match(entry, v)
	m.members[u] = append(append([]int{}, m.members[u][at:]...), m.members[u][:at]...)
}

// flip exchanges matched and unmatched edges from node u, newly paired with v,
// up to its root.
func (m *blossoms) flip(u, v int) {
	for {
		next := nobody
		if m.mate[u] != nobody {
			next = m.outside[m.mate[u]]
		}
		m.match(u, v)
		if next == nobody {
			return
		}
		up := m.outside[m.parent[next]]
		m.match(next, up)
		u, v = up, next
	}
}

// meeting returns the lowest common ancestor of two outer nodes, nobody if they
// stand in different trees.
func (m *blossoms) meeting(u, v int) int {
	m.stamp++
	for u != nobody || v != nobody {
		if u != nobody {
			if m.seen[u] == m.stamp {
				return u
			}
			m.seen[u] = m.stamp
			u = m.up(u)
		}
		u, v = v, u
	}
	return nobody
}

// up goes from an outer node two edges towards the root.
func (m *blossoms) up(u int) int {
	if m.mate[u] == nobody {
		return nobody
	}
	return m.outside[m.parent[m.outside[m.mate[u]]]]
}

// shrink makes one node of the cycle u - base - v.
func (m *blossoms) shrink(u, base, v int) {
	b := m.n
	for b < m.nodes && m.outside[b] != nobody {
		b++
	}
	if b == m.nodes {
		m.nodes++
	}
	m.dual[b], m.label[b] = 0, outer
	m.mate[b] = m.mate[base]
	ring := []int{base}
	for x := u; x != base; {
		y := m.outside[m.mate[x]]
		ring = append(ring, x, y)
		m.enqueue(y)
		x = m.outside[m.parent[y]]
	}
	for i, j := 1, len(ring)-1; i < j; i, j = i+1, j-1 {
		ring[i], ring[j] = ring[j], ring[i]
	}
	for x := v; x != base; {
		y := m.outside[m.mate[x]]
		ring = append(ring, x, y)
		m.enqueue(y)
		x = m.outside[m.parent[y]]
	}
	m.members[b] = ring
	m.contain(b, b)
	for x := range m.nodes {
		m.edge[b][x], m.edge[x][b] = arc{nobody, nobody}, arc{nobody, nobody}
	}
	for x := range m.n {
		m.through[b][x] = nobody
	}
	for _, y := range ring {
		for x := range m.nodes {
			e := m.edge[y][x]
			if m.exists(e) && (!m.exists(m.edge[b][x]) || m.slack(e) < m.slack(m.edge[b][x])) {
				m.edge[b][x], m.edge[x][b] = e, m.edge[x][y]
			}
		}
		for x := range m.n {
			if m.through[y][x] != nobody {
				m.through[b][x] = y
			}
		}
	}
	m.findNearest(b)
}

// expand takes an inner node with a dual of zero apart.
func (m *blossoms) expand(b int) {
	for _, x := range m.members[b] {
		m.contain(x, x)
	}
	entry := m.through[b][m.edge[b][m.parent[b]].from]
	at := m.position(b, entry)
	ring := m.members[b]
	for i := 0; i < at; i += 2 {
		x, y := ring[i], ring[i+1]
		m.parent[x] = m.edge[y][x].from
		m.label[x], m.label[y] = inner, outer
		m.nearest[x] = nobody
		m.findNearest(y)
		m.enqueue(y)
	}
	m.label[entry], m.parent[entry] = inner, m.parent[b]
	m.nearest[entry] = nobody
	for _, x := range ring[at+1:] {
		m.label[x] = unlabelled
		m.findNearest(x)
	}
	m.outside[b] = nobody
}

// reach follows a tight arc from an outer vertex to another node; it reports
// whether that augmented the matching.
func (m *blossoms) reach(e arc) bool {
	u, v := m.outside[e.from], m.outside[e.to]
	switch m.label[v] {
	case unlabelled:
		m.parent[v], m.label[v] = e.from, inner
		w := m.outside[m.mate[v]]
		m.nearest[v], m.nearest[w] = nobody, nobody
		m.label[w] = outer
		m.enqueue(w)
	case outer:
		base := m.meeting(u, v)
		if base == nobody {
			m.flip(u, v)
			m.flip(v, u)
			return true
		}
		m.shrink(u, base, v)
	}
	return false
}

// stage searches for one augmentation; false: every vertex is matched.
func (m *blossoms) stage() bool {
	m.queue = m.queue[:0]
	for x := range m.nodes {
		m.label[x], m.nearest[x] = unlabelled, nobody
	}
	for x := range m.nodes {
		if m.outside[x] == x && m.mate[x] == nobody {
			m.label[x] = outer
			m.parent[x] = nobody
			m.enqueue(x)
		}
	}
	if len(m.queue) == 0 {
		return false
	}
	for {
		for len(m.queue) > 0 {
			u := m.queue[0]
			m.queue = m.queue[1:]
			if m.label[m.outside[u]] == inner {
				continue
			}
			for v := range m.n {
				if v == u || m.outside[u] == m.outside[v] {
					continue
				}
				if m.slack(m.edge[u][v]) > 0 {
					m.consider(u, m.outside[v])
				} else if m.reach(m.edge[u][v]) {
					return true
				}
			}
		}
		m.moveDuals()
		for x := range m.nodes {
			near := m.nearest[x]
			if m.outside[x] == x && near != nobody && m.outside[near] != x && m.slack(m.edge[near][x]) == 0 {
				if m.reach(m.edge[near][x]) {
					return true
				}
			}
		}
		for b := m.n; b < m.nodes; b++ {
			if m.outside[b] == b && m.label[b] == inner && m.dual[b] == 0 {
				m.expand(b)
			}
		}
	}
}

// moveDuals changes the duals by the most that keeps every slack and every dual
// of a blossom from falling below zero. In a complete graph with an even number
// of vertices something always becomes tight.
func (m *blossoms) moveDuals() {
	step := int64(1) << 62
	for x := range m.nodes {
		if m.outside[x] != x {
			continue
		}
		if x >= m.n && m.label[x] == inner {
			step = min(step, m.dual[x]/2)
		}
		if near := m.nearest[x]; near != nobody {
			switch s := m.slack(m.edge[near][x]); m.label[x] {
			case unlabelled:
				step = min(step, s)
			case outer:
				step = min(step, s/2)
			}
		}
	}
	for v := range m.n {
		switch m.label[m.outside[v]] {
		case outer:
			m.dual[v] -= step
		case inner:
			m.dual[v] += step
		}
	}
	for b := m.n; b < m.nodes; b++ {
		if m.outside[b] == b {
			switch m.label[b] {
			case outer:
				m.dual[b] += 2 * step
			case inner:
				m.dual[b] -= 2 * step
			}
		}
	}
}
