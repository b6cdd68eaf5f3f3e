// The boat's server as it is: the program, with the built app and a log's file.
import { type ChildProcess, execFileSync, spawn } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { dist } from './browser'

const root = fileURLToPath(new URL('../../..', import.meta.url))

export interface Boat {
  address: string
  /** Ends the server; what it acknowledged is on the disk. */
  stop(): Promise<void>
  /** Starts it anew at the same address. */
  start(): Promise<void>
  /** What sternfan log says. */
  log(...args: string[]): string
  close(): Promise<void>
}

const built = fileURLToPath(new URL('../out/boat', import.meta.url))
const program = join(built, 'sternfan')
const packed = join(built, 'app')

/** Builds the program and packs the app as it is now. */
export function buildBoat(): void {
  const toolchain = /^toolchain (\S+)/m.exec(readFileSync(join(root, 'go.mod'), 'utf8'))?.[1] ?? 'auto'
  const env = { ...process.env, PATH: `${process.env.PATH}:/usr/local/go/bin`, GOTOOLCHAIN: toolchain }
  const go = (...args: string[]) =>
    execFileSync('go', args, { cwd: root, env, stdio: ['ignore', 'ignore', 'inherit'] })
  go('build', '-o', program, './cmd/sternfan')
  go('run', './internal/pack', dist, packed, '0')
}

/** Starts a boat's server with an empty log. */
export async function boat(): Promise<Boat> {
  const folder = mkdtempSync(join(tmpdir(), 'boat-'))
  const file = join(folder, 'log.db')
  let child: ChildProcess | undefined
  let port = '0'
  const env = { ...process.env, XDG_CONFIG_HOME: folder, STERNFAN_LOG: file }
  const start = async () => {
    const p = spawn(program, ['serve', '--port', port, '--app', packed, '--log', file], {
      env,
      stdio: ['ignore', 'pipe', 'inherit'],
    })
    child = p
    port = await new Promise<string>((resolve, reject) => {
      let said = ''
      p.stdout.on('data', d => {
        said += d
        const found = /http:\/\/127\.0\.0\.1:(\d+)\//.exec(said)
        if (found?.[1]) resolve(found[1])
      })
      p.on('exit', () => reject(new Error(`the boat's server ended: ${said}`)))
    })
  }
  const stop = async () => {
    const p = child
    child = undefined
    if (!p) return
    const gone = new Promise(resolve => p.on('close', resolve))
    p.removeAllListeners('exit')
    p.kill('SIGINT')
    await gone
  }
  await start()
  return {
    address: `http://127.0.0.1:${port}/`,
    start,
    stop,
    log: (...args) => execFileSync(program, ['log', ...args], { env, encoding: 'utf8' }),
    async close() {
      await stop()
      rmSync(folder, { recursive: true })
    },
  }
}
