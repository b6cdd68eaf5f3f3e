// Labels beside their points, none over another: greedy, the order is the preference.
export interface Wish {
  id: string
  x: number
  y: number
  texts: string[] // from the longest to the shortest that will do
}

export interface Placed {
  id: string
  x: number
  y: number
  text: string
  anchor: 'start' | 'end'
}

interface Rect {
  x0: number
  y0: number
  x1: number
  y1: number
}

const hits = (a: Rect, b: Rect) => a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1

/** Places labels in a box w by h; one that finds no room is left out. */
export function placeLabels(wishes: Wish[], w: number, h: number, size: number): Placed[] {
  const taken: Rect[] = wishes.map(q => ({ x0: q.x - 5, y0: q.y - 5, x1: q.x + 5, y1: q.y + 5 }))
  const out: Placed[] = []
  for (const wish of wishes) {
    const mine = taken[wishes.indexOf(wish)]
    let done = false
    for (const text of wish.texts) {
      const long = text.length * size * 0.58
      for (const [dx, dy, anchor] of [
        [9, 0, 'start'],
        [-9, 0, 'end'],
        [7, size * 0.95, 'start'],
        [7, -size * 0.95, 'start'],
        [-7, size * 0.95, 'end'],
        [-7, -size * 0.95, 'end'],
        [9, size * 1.9, 'start'],
        [9, -size * 1.9, 'start'],
      ] as [number, number, 'start' | 'end'][]) {
        const x = wish.x + dx
        const y = wish.y + dy
        const x0 = anchor === 'start' ? x : x - long
        const rect = { x0, x1: x0 + long, y0: y - size * 0.55, y1: y + size * 0.55 }
        if (rect.x0 < 0 || rect.x1 > w || rect.y0 < 0 || rect.y1 > h) continue
        if (taken.some(t => t !== mine && hits(t, rect))) continue
        taken.push(rect)
        out.push({ id: wish.id, x, y, text, anchor })
        done = true
        break
      }
      if (done) break
    }
  }
  return out
}
