// The signs of the lines plan, drawn by hand: what a mark is can be told by its shape.
const signs: Record<string, string> = {
  // Lures: port a square, starboard a triangle, middle a disc.
  'lure port': 'M-4-4H4V4H-4Z',
  'lure starboard': 'M0-5L5 4H-5Z',
  'lure middle': 'M-4.5 0A4.5 4.5 0 1 0 4.5 0A4.5 4.5 0 1 0-4.5 0Z',
  diver: 'M-5-2.5L5 0L4 3L-5 .8Z',
  ball: 'M-4.5 0A4.5 4.5 0 1 0 4.5 0A4.5 4.5 0 1 0-4.5 0Z',
  board: 'M-7-2.5H7V2.5H-7Z',
  weight: 'M0-4.5L4.5 0L0 4.5L-4.5 0Z',
  tip: 'M-1.6 0A1.6 1.6 0 1 0 1.6 0A1.6 1.6 0 1 0-1.6 0Z',
}

const kinds: [RegExp, string][] = [
  [/diver|directional|slide-through/, 'diver'],
  [/board|in-line|mast/, 'board'],
  [/ball|round|finned|torpedo/, 'ball'],
]

/** The sign for a kind of body. */
export function signOf(kind: string): string {
  return kinds.find(([k]) => k.test(kind))?.[1] ?? 'weight'
}

export function signPath(sign: string, side: string): string {
  return signs[`${sign} ${side}`] ?? signs[sign] ?? ''
}
