// Ids of events: ULIDs, made as package trip makes them. An id is later than every id that
// this device has made or seen, so that what was written in the knowledge of something
// comes after it, whatever the clocks show.

const digits = '0123456789ABCDEFGHJKMNPQRSTVWXYZ'
const last48 = 2 ** 48 - 1
// How far an id's time is carried past the clock by ids from elsewhere; past it the clock
// is believed.
const farAhead = 10 * 366 * 24 * 3600 * 1000

/** The 26 characters of a time in milliseconds since 1970 and ten bytes of chance. */
export function ulid(ms: number, chance: Uint8Array): string {
  let time = ''
  for (let i = 0, rest = ms; i < 10; i++) {
    time = digits[rest % 32] + time
    rest = Math.floor(rest / 32)
  }
  let text = ''
  let bits = 0
  let held = 0
  for (const byte of chance) {
    held = (held << 8) | byte
    for (bits += 8; bits >= 5; bits -= 5) text += digits[(held >> (bits - 5)) & 31]
    held &= (1 << bits) - 1
  }
  return time + text
}

/** The time in an id, in milliseconds since 1970. */
export function timeOf(id: string): number {
  let ms = 0
  for (const c of id.slice(0, 10)) ms = ms * 32 + Math.max(0, digits.indexOf(c))
  return ms
}

export class IDs {
  private last = ''

  saw(id: string): void {
    if (id > this.last) this.last = id
  }

  next(now: number, chance: Uint8Array = crypto.getRandomValues(new Uint8Array(10))): string {
    let ms = Math.min(Math.max(Math.floor(now), 0), last48)
    const before = this.last ? timeOf(this.last) : -1
    if (ms <= before && before - ms < farAhead && before < last48) ms = before + 1
    this.last = ulid(ms, chance)
    return this.last
  }
}

/** A moment as the log has it: RFC 3339 with milliseconds and the local offset. */
export function instant(ms: number, east = -new Date(ms).getTimezoneOffset()): string {
  const local = new Date(ms + east * 60_000).toISOString().slice(0, -1)
  const two = (n: number) => String(n).padStart(2, '0')
  const size = Math.abs(east)
  return `${local}${east < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`
}
