// Undo and redo over whole texts: the file is the single truth, so its texts are the states.
export interface Step {
  text: string
  what: string // what the step that led away from this text did: "line out 165 ft"
  key: string // steps of one key close together are one
  at: number
}

const most = 200

export class History {
  private past: Step[] = []
  private future: Step[] = []

  /** Notes that text was left by doing what. A step soon after one of the same key joins it. */
  left(text: string, what: string, key: string, at: number): void {
    const last = this.past.at(-1)
    const joins = key !== '' && last?.key === key && at - last.at < 2500 && this.future.length === 0
    if (joins && last) {
      last.at = at
      last.what = what
    } else {
      this.past.push({ text, what, key, at })
      if (this.past.length > most) this.past.shift()
    }
    this.future = []
  }

  undo(now: string): Step | undefined {
    const step = this.past.pop()
    if (step) this.future.push({ ...step, text: now })
    return step
  }

  redo(now: string): Step | undefined {
    const step = this.future.pop()
    if (step) this.past.push({ ...step, text: now, key: '' })
    return step
  }

  get undoes(): string | undefined {
    return this.past.at(-1)?.what
  }

  get redoes(): string | undefined {
    return this.future.at(-1)?.what
  }
}
