// The spread in space, drawn with three.js from the engine's curves. Loaded only when it
// is looked at. Axes here: x to starboard, y up, z astern, meters, one scale for all.
import {
  Box3,
  BoxGeometry,
  BufferGeometry,
  CanvasTexture,
  Color,
  ConeGeometry,
  DoubleSide,
  Float32BufferAttribute,
  Group,
  LineBasicMaterial,
  LineSegments,
  type Material,
  Mesh,
  MeshBasicMaterial,
  PerspectiveCamera,
  PlaneGeometry,
  Scene,
  Shape,
  ShapeGeometry,
  SphereGeometry,
  Sprite,
  SpriteMaterial,
  Vector3,
  WebGLRenderer,
} from 'three'
import { Line2 } from 'three/addons/lines/Line2.js'
import { LineGeometry } from 'three/addons/lines/LineGeometry.js'
import { LineMaterial } from 'three/addons/lines/LineMaterial.js'
import { believed, type Line } from '../model/tracks'
import { FOOT, length, type Units } from '../words'
import { between, type Eye, home, placeOf, within } from './orbit'

export interface Picture {
  lines: readonly Line[]
  hull: readonly (readonly [number, number])[] // astern, side
  bottom: number | undefined
  lit: string | null
  units: Units
}

type Side = Line['side']
const sign = 0.9 // m, half of a lure's mark: larger than life, to be seen
const dashes: Record<Side, [number, number] | undefined> = {
  port: undefined,
  starboard: [2.4, 1.4],
  middle: [5, 1],
}

/** The colors of the light, as the style sheet has them now. */
function inks() {
  const style = getComputedStyle(document.documentElement)
  return (name: string) => new Color(style.getPropertyValue(`--${name}`).trim() || '#888')
}

export class Solid {
  private readonly renderer: WebGLRenderer
  private readonly scene = new Scene()
  private readonly camera = new PerspectiveCamera(35, 1, 0.5, 6000)
  private drawn = new Group()
  private spots: { id: string; at: Vector3 }[] = []
  private labels: { sprite: Sprite; px: number; wide: number; first: boolean }[] = []
  private middle = new Vector3()
  private size = 50 // m, of the ball around everything
  private wide = 1
  private tall = 1
  private asked = 0
  private glide = 0
  eye: Eye = { ...home, far: 200 }

  /** Throws where the browser has no WebGL. */
  constructor(canvas: HTMLCanvasElement) {
    this.renderer = new WebGLRenderer({ canvas, antialias: true })
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2))
  }

  resize(wide: number, tall: number): void {
    this.wide = Math.max(1, wide)
    this.tall = Math.max(1, tall)
    this.renderer.setSize(this.wide, this.tall, false)
    this.camera.aspect = this.wide / this.tall
    this.draw()
  }

  /** As far away as shows everything. */
  private whole(): number {
    const half = (this.camera.fov * Math.PI) / 360
    const narrow = Math.atan(Math.tan(half) * Math.min(1, this.camera.aspect))
    return (this.size / Math.sin(narrow)) * (this.camera.aspect < 1 ? 1.15 : 1)
  }

  look(to: Partial<Eye>): void {
    cancelAnimationFrame(this.glide)
    this.eye = within({ ...this.eye, ...to }, this.size / 20, 3 * this.whole())
    this.draw()
  }

  /** Goes to another place, in a moment or at once. */
  go(to: Omit<Eye, 'far'>, still: boolean): void {
    const from = this.eye
    const goal = { ...to, far: this.whole() }
    if (still) {
      this.look(goal)
      return
    }
    cancelAnimationFrame(this.glide)
    const began = performance.now()
    const step = () => {
      const t = Math.min(1, (performance.now() - began) / 350)
      this.eye = between(from, goal, t)
      this.draw()
      if (t < 1) this.glide = requestAnimationFrame(step)
      else this.eye = within(goal, 0, Number.POSITIVE_INFINITY)
    }
    step()
  }

  /** What is under a finger: the rod whose mark or line is nearest. */
  pick(x: number, y: number): string | undefined {
    let best: string | undefined
    let least = 26 // px
    const p = new Vector3()
    for (const s of this.spots) {
      p.copy(s.at).project(this.camera)
      const d = Math.hypot(((p.x + 1) / 2) * this.wide - x, ((1 - p.y) / 2) * this.tall - y)
      if (d < least) {
        least = d
        best = s.id
      }
    }
    return best
  }

  private draw(): void {
    if (this.asked) return
    this.asked = requestAnimationFrame(() => {
      this.asked = 0
      this.camera.updateProjectionMatrix()
      this.camera.position.set(...placeOf(this.eye)).add(this.middle)
      this.camera.lookAt(this.middle)
      this.placeLabels()
      this.renderer.render(this.scene, this.camera)
    })
  }

  /** Labels keep their size in pixels, and one that would lie over another is left out. */
  private placeLabels(): void {
    const perPixel = (2 * Math.tan((this.camera.fov * Math.PI) / 360)) / this.tall
    const taken: { x: number; y: number; w: number; h: number }[] = []
    this.camera.updateMatrixWorld()
    const p = new Vector3()
    for (const l of [...this.labels].sort((a, b) => Number(b.first) - Number(a.first))) {
      const h = l.px * perPixel
      l.sprite.scale.set(h * l.wide, h, 1)
      p.copy(l.sprite.position).project(this.camera)
      const w = l.px * l.wide
      const x = ((p.x + 1) / 2) * this.wide - l.sprite.center.x * w
      const y = ((1 - p.y) / 2) * this.tall - (1 - l.sprite.center.y) * l.px
      const free = taken.every(t => x > t.x + t.w || t.x > x + w || y > t.y + t.h || t.y > y + l.px)
      l.sprite.visible = free && p.z < 1
      if (free) taken.push({ x, y, w, h: l.px })
    }
  }

  private clear(): void {
    this.drawn.traverse(o => {
      const { geometry, material } = o as Partial<Mesh>
      geometry?.dispose()
      for (const m of material ? [material].flat() : []) {
        ;(m as Material & { map?: CanvasTexture | null }).map?.dispose()
        m.dispose()
      }
    })
    this.labels = []
    this.scene.remove(this.drawn)
    this.drawn = new Group()
  }

  /** Shows a spread; first is whether to look at all of it anew. */
  show(p: Picture, first: boolean): void {
    this.clear()
    const ink = inks()
    this.scene.background = ink('paper')
    this.spots = []
    const box = new Box3()
    for (const [astern, side] of p.hull) box.expandByPoint(new Vector3(side, 0, astern))
    for (const l of p.lines) if (believed(l)) this.rod(l, p, ink, box)
    if (box.isEmpty()) box.set(new Vector3(-10, -10, -5), new Vector3(10, 0, 30))
    this.ground(p, ink, box)
    if (p.hull.length > 2) this.boat(p.hull, ink)
    this.scene.add(this.drawn)
    if (first) {
      box.getCenter(this.middle)
      this.size = Math.max(5, 0.43 * box.getSize(new Vector3()).length())
      this.eye = { ...home, far: this.whole() }
    }
    this.draw()
  }

  private fat(points: number[], color: Color, wide: number, dash?: [number, number], dim = false): void {
    if (points.length < 6) return
    const geometry = new LineGeometry().setPositions(points)
    const material = new LineMaterial({
      color,
      linewidth: wide,
      transparent: dim,
      opacity: dim ? 0.5 : 1,
      ...(dash ? { dashed: true, dashSize: dash[0], gapSize: dash[1] } : {}),
    })
    const line = new Line2(geometry, material)
    if (dash) line.computeLineDistances()
    this.drawn.add(line)
  }

  private thin(points: number[], color: Color): void {
    const geometry = new BufferGeometry().setAttribute('position', new Float32BufferAttribute(points, 3))
    this.drawn.add(new LineSegments(geometry, new LineBasicMaterial({ color })))
  }

  private words(
    text: string,
    color: Color,
    at: Vector3,
    center: [number, number],
    px = 15,
    first = false,
  ): void {
    const canvas = document.createElement('canvas')
    const c = canvas.getContext('2d')
    if (!c) return
    const font = '600 44px system-ui, sans-serif'
    c.font = font
    canvas.width = Math.ceil(c.measureText(text).width) + 12
    canvas.height = 56
    c.font = font
    c.textBaseline = 'middle'
    c.fillStyle = `#${color.getHexString()}`
    c.fillText(text, 6, 30)
    const map = new CanvasTexture(canvas)
    map.colorSpace = 'srgb'
    const sprite = new Sprite(
      new SpriteMaterial({ map, sizeAttenuation: false, depthTest: false, transparent: true }),
    )
    sprite.center.set(...center)
    sprite.position.copy(at)
    sprite.renderOrder = 10
    this.labels.push({ sprite, px: (px * 56) / 44, wide: canvas.width / canvas.height, first })
    this.drawn.add(sprite)
  }

  private rod(l: Line, p: Picture, ink: (name: string) => Color, box: Box3): void {
    const lit = l.id === p.lit
    const dim = p.lit !== null && !lit
    const color = ink(l.side)
    for (const c of l.curves) {
      const points: number[] = []
      for (let i = 0; i + 2 < c.points.length; i += 3) {
        const at = new Vector3(c.points[i + 1], -c.points[i + 2]!, -c.points[i]!)
        points.push(at.x, at.y, at.z)
        box.expandByPoint(at)
        if (!l.device) this.spots.push({ id: l.id, at })
      }
      this.fat(points, color, l.device ? 1.2 : lit ? 4.5 : 2, l.device ? [1, 1] : dashes[l.side], dim)
    }
    const mark = (at: Vector3, full: boolean) => {
      const geometry =
        l.side === 'port'
          ? new BoxGeometry(2 * sign, 2 * sign, 2 * sign)
          : l.side === 'starboard'
            ? new ConeGeometry(1.3 * sign, 2.2 * sign, 4)
            : new SphereGeometry(1.1 * sign, 12, 8)
      const mesh = new Mesh(geometry, new MeshBasicMaterial({ color, wireframe: !full }))
      mesh.position.copy(at)
      if (!full) mesh.scale.setScalar(0.7)
      this.drawn.add(mesh)
    }
    for (const b of l.state.bodies) mark(new Vector3(b.side_m, -b.depth_m, b.astern_m), false)
    l.state.lures.forEach((b, i) => {
      const at = new Vector3(b.side_m, -b.depth_m, b.astern_m)
      box.expandByPoint(at)
      this.spots.push({ id: l.id, at })
      mark(at, true)
      const [lo, hi] = [Math.max(0, b.depth_lo_m), Math.max(0, b.depth_hi_m)]
      this.fat([at.x, -lo, at.z, at.x, -hi, at.z], color, lit ? 4 : 2.5)
      if (i === 0) {
        const deep = length(p.units, Math.max(0, b.depth_m))
        this.words(lit ? `${l.tag} ${deep}` : l.tag, color, at, [-0.15, -0.1], lit ? 19 : 15, lit)
      }
    })
  }

  /** The surface, the bottom where it is near, and a scale of depth. */
  private ground(p: Picture, ink: (name: string) => Color, box: Box3): void {
    const per = p.units === 'us' ? 50 * FOOT : 20
    const round = (v: number) => (v < 0 ? Math.floor(v / per) : Math.ceil(v / per)) * per
    const x = Math.max(per, round(Math.max(-box.min.x, box.max.x)))
    const [z0, z1] = [Math.min(-per / 2, box.min.z - 2), round(box.max.z + 2)]
    const net: number[] = []
    for (let v = -x; v <= x + 0.01; v += per) net.push(v, 0, z0, v, 0, z1)
    for (let v = 0; v <= z1 + 0.01; v += per) net.push(-x, 0, v, x, 0, v)
    this.thin(net, ink('grid'))
    const plane = (y: number, color: Color, opacity: number) => {
      const mesh = new Mesh(
        new PlaneGeometry(2 * x, z1 - z0),
        new MeshBasicMaterial({ color, transparent: true, opacity, side: DoubleSide, depthWrite: false }),
      )
      mesh.rotation.x = -Math.PI / 2
      mesh.position.set(0, y, (z0 + z1) / 2)
      mesh.renderOrder = -1 // under the lines, which it would else dull
      this.drawn.add(mesh)
    }
    plane(0, ink('water'), 0.12)
    this.fat([-x, 0, z0, x, 0, z0, x, 0, z1, -x, 0, z1, -x, 0, z0], ink('surface'), 1.5)
    let deep = Math.max(per, round(-box.min.y))
    const near = p.bottom !== undefined && p.bottom < 1.5 * deep ? p.bottom : undefined
    if (near !== undefined) {
      deep = near
      plane(-near, ink('bottom'), 0.75)
      this.fat([-x, -near, z0, x, -near, z0, x, -near, z1, -x, -near, z1, -x, -near, z0], ink('quiet'), 1.5)
      this.words(`bottom ${length(p.units, near)}`, ink('quiet'), new Vector3(-x, -near, z1), [-0.1, 1])
    }
    const scale: number[] = [-x, 0, z0, -x, -deep, z0]
    for (let v = per; v <= deep + 0.01; v += per) {
      scale.push(-x, -v, z0, -x + 2, -v, z0)
      if (near === undefined || Math.abs(v - near) > 0.2 * per)
        this.words(length(p.units, v), ink('quiet'), new Vector3(-x, -v, z0), [1.1, 0.5], 13)
    }
    this.thin(scale, ink('frame'))
  }

  private boat(hull: Picture['hull'], ink: (name: string) => Color): void {
    const shape = new Shape()
    hull.forEach(([astern, side], i) => {
      if (i) shape.lineTo(side, astern)
      else shape.moveTo(side, astern)
    })
    const mesh = new Mesh(
      new ShapeGeometry(shape),
      new MeshBasicMaterial({ color: ink('hull'), side: DoubleSide }),
    )
    mesh.rotation.x = Math.PI / 2
    mesh.position.y = 0.9
    this.drawn.add(mesh)
    const high = 0.9 // m of freeboard, so that it is seen from the side
    const rim = (y: number) => [...hull, hull[0]!].flatMap(([astern, side]) => [side, y, astern])
    this.fat(rim(0), ink('text'), 1.5)
    this.fat(rim(high), ink('text'), 2)
    for (const [astern, side] of hull) this.fat([side, 0, astern, side, high, astern], ink('text'), 1.5)
  }

  end(): void {
    cancelAnimationFrame(this.asked)
    cancelAnimationFrame(this.glide)
    this.clear()
    this.renderer.dispose()
  }
}
