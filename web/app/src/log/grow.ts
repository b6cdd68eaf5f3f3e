// How entries grow: members that came after the first version, and corrections by member.
import { LOG_NEWER } from '../api'

/** The version that a body needs of its reader, 0 for the first. */
export function versionOf(body: object): number {
  let version = 0
  for (const [member, since] of LOG_NEWER) {
    let at: unknown = body
    for (const name of member.split('.')) at = (at as Record<string, unknown> | undefined)?.[name]
    if (at !== undefined) version = Math.max(version, since)
  }
  return version
}

/** What a correction has to say so that a body becomes another: null for what only the first has. */
export function changeTo(was: object, is: object): Record<string, unknown> {
  const change: Record<string, unknown> = {}
  const before = was as Record<string, unknown>
  const after = is as Record<string, unknown>
  for (const name of Object.keys(before)) if (after[name] === undefined) change[name] = null
  for (const [name, v] of Object.entries(after))
    if (v !== undefined && JSON.stringify(v) !== JSON.stringify(before[name])) change[name] = v
  return change
}
