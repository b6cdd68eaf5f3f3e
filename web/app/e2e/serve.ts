// A small file server for the tests: the built app as any web host would give it.
import { createReadStream, existsSync, statSync } from 'node:fs'
import { createServer, type Server } from 'node:http'
import type { AddressInfo } from 'node:net'
import { extname, join, normalize } from 'node:path'
import { createGzip } from 'node:zlib'

const types: Record<string, string> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript',
  '.css': 'text/css',
  '.wasm': 'application/wasm',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.yaml': 'text/yaml',
  '.webmanifest': 'application/manifest+json',
}

export interface Site {
  address: string
  /** What was asked for, in order. */
  asked: string[]
  /** Serves from another folder: a new version. */
  change(folder: string): void
  close(): Promise<void>
}

export async function serve(folder: string, port = 0): Promise<Site> {
  let root = folder
  const asked: string[] = []
  const server: Server = createServer((ask, reply) => {
    const url = new URL(ask.url ?? '/', 'http://x')
    const path = normalize(decodeURIComponent(url.pathname))
    asked.push(path + url.search)
    const file = join(root, path.endsWith('/') ? `${path}index.html` : path)
    if (!file.startsWith(root) || !existsSync(file) || !statSync(file).isFile()) {
      reply.writeHead(404).end()
      return
    }
    reply.writeHead(200, {
      'content-type': types[extname(file)] ?? 'application/octet-stream',
      'content-encoding': 'gzip',
      'cache-control': 'no-cache',
    })
    createReadStream(file)
      .pipe(createGzip({ level: 1 }))
      .pipe(reply)
  })
  await new Promise<void>(resolve => server.listen(port, '127.0.0.1', resolve))
  const { port: got } = server.address() as AddressInfo
  return {
    address: `http://127.0.0.1:${got}/`,
    asked,
    change(next) {
      root = next
    },
    close: () =>
      new Promise(resolve => {
        server.closeAllConnections()
        server.close(() => resolve())
      }),
  }
}
