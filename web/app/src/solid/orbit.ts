// Where the eye is on its way around the spread: an azimuth, a height and a distance.
export interface Eye {
  around: number // radians from astern, to starboard
  over: number // radians from straight above
  far: number // m from what is looked at
}

export const home: Omit<Eye, 'far'> = { around: 0.6, over: 1.15 }
export const presets = {
  'from astern': { around: 0, over: Math.PI / 2 },
  'from the side': { around: Math.PI / 2, over: Math.PI / 2 },
  'from above': { around: 0, over: 0.001 },
} as const

/** Keeps the eye above the ground and within sight. */
export function within(e: Eye, least: number, most: number): Eye {
  return {
    around: Math.atan2(Math.sin(e.around), Math.cos(e.around)),
    over: Math.min(2.6, Math.max(0.001, e.over)),
    far: Math.min(most, Math.max(least, e.far)),
  }
}

/** What a key does to the eye; undefined for other keys. */
export function byKey(key: string, e: Eye): Eye | undefined {
  const step = Math.PI / 24
  switch (key) {
    case 'ArrowLeft':
      return { ...e, around: e.around - step }
    case 'ArrowRight':
      return { ...e, around: e.around + step }
    case 'ArrowUp':
      return { ...e, over: e.over - step }
    case 'ArrowDown':
      return { ...e, over: e.over + step }
    case '+':
    case '=':
      return { ...e, far: e.far / 1.2 }
    case '-':
      return { ...e, far: e.far * 1.2 }
  }
  return undefined
}

/** On the way from one eye to another, the short way around; t from 0 to 1. */
export function between(a: Eye, b: Eye, t: number): Eye {
  const s = t * t * (3 - 2 * t)
  const turn = Math.atan2(Math.sin(b.around - a.around), Math.cos(b.around - a.around))
  return {
    around: a.around + s * turn,
    over: a.over + s * (b.over - a.over),
    far: a.far + s * (b.far - a.far),
  }
}

/** The eye's place from what is looked at: to starboard, up, astern. */
export function placeOf(e: Eye): [number, number, number] {
  const out = e.far * Math.sin(e.over)
  return [out * Math.sin(e.around), e.far * Math.cos(e.over), out * Math.cos(e.around)]
}
