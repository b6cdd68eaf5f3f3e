import { defineConfig } from 'vite'
import { VitePWA } from 'vite-plugin-pwa'
import { configDefaults } from 'vitest/config'

const policy = [
  "default-src 'none'",
  "script-src 'self' 'wasm-unsafe-eval'",
  "worker-src 'self'",
  "style-src 'self'",
  "img-src 'self' blob: data:",
  "connect-src 'self'",
  "manifest-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
].join('; ')

export default defineConfig({
  base: './',
  build: { target: 'es2022', assetsInlineLimit: 0, modulePreload: { polyfill: false } },
  worker: { format: 'es' },
  plugins: [
    {
      name: 'policy',
      transformIndexHtml: {
        order: 'post',
        handler: (_html, ctx) => {
          if (ctx.server) return []
          // The engine's core is what takes longest to come: it is asked for with the page.
          const core = Object.keys(ctx.bundle ?? {}).find(f => /\bcore-[^/]*\.wasm$/.test(f))
          if (!core) throw new Error('the build has no engine')
          return [
            {
              tag: 'meta',
              attrs: { 'http-equiv': 'Content-Security-Policy', content: policy },
              injectTo: 'head-prepend',
            },
            {
              tag: 'link',
              attrs: {
                rel: 'preload',
                as: 'fetch',
                type: 'application/wasm',
                crossorigin: '',
                href: `./${core}`,
              },
              injectTo: 'head',
            },
          ]
        },
      },
    },
    VitePWA({
      registerType: 'prompt',
      injectRegister: null,
      manifest: {
        id: './',
        name: 'sternfan',
        short_name: 'sternfan',
        description: 'Where every lure of a trolling spread runs. Not for navigation.',
        start_url: './',
        scope: './',
        display: 'standalone',
        background_color: '#fdfcf9',
        theme_color: '#17212a',
        icons: [
          { src: 'icon-192.png', sizes: '192x192', type: 'image/png' },
          { src: 'icon-512.png', sizes: '512x512', type: 'image/png' },
          { src: 'icon-512.png', sizes: '512x512', type: 'image/png', purpose: 'maskable' },
        ],
      },
      workbox: {
        globPatterns: ['**/*.{html,js,css,wasm,png,svg,yaml}'],
        maximumFileSizeToCacheInBytes: 24 << 20,
        cleanupOutdatedCaches: true,
      },
    }),
  ],
  test: { include: ['test/**/*.test.ts'], exclude: [...configDefaults.exclude] },
})
