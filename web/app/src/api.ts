// Made from the Go types of package engine by: go test ./engine -run TypeScript -update
// Do not edit: the test fails when this differs from the Go types.

/** A value of a scenario file: every single value is the text that stands in the file. */
export type FormValue = string | null | FormValue[] | { [key: string]: FormValue }

/** Version of the operations below. */
export const API_VERSION = 1

/** Every operation: what is asked and what is answered. */
export interface Ops {
  /** Which versions of the program's parts these are. */
  version: { ask: Nothing; answer: Versions }
  /** Every fault of a scenario at once, with its place, and what the scenario holds. */
  check: { ask: CheckAsk; answer: Checked }
  /** Where everything runs, as a fan, a lines plan and the rows of the table: the digits of the command line. */
  spread: { ask: SpreadAsk; answer: Spread }
  /** What a change moves, quickly and without intervals: for while a finger drags. */
  move: { ask: Given; answer: Moved }
  /** One rod's possibilities: the way its lure takes at each dial mark as line goes out. */
  paths: { ask: PathsAsk; answer: PathsAnswer }
  /** The speed over ground to hold on each heading for a wanted speed at depth. */
  speeds: { ask: SpeedsAsk; answer: SpeedsAnswer }
  /** The text of the file after changes to its keys. */
  edit: { ask: EditAsk; answer: FileText }
  /** The file with every named rig written out as parts and every default filled in. */
  expand: { ask: Given; answer: FileText }
  /** The file as it is written, key by key, for forms. */
  form: { ask: Given; answer: Form }
  /** The names of all gear that rigs may use, built-in and the file's own. */
  gear: { ask: GearAsk; answer: GearAnswer }
  /** How full the rods' spools are with their lines out. */
  spools: { ask: Given; answer: SpoolsAnswer }
  /** A quantity as a person writes it, in SI and as it is shown. */
  quantity: { ask: QuantityAsk; answer: QuantityAnswer }
  /** The scenario that a link carries. */
  unlink: { ask: LinkAsk; answer: FileText }
  /** The settings that put one rod's lure at a depth, best first, or what would. */
  aim: { ask: AimAsk; answer: Aim }
  /** Every rod moved at once: all down 10 ft, or all to 65 ft. */
  order: { ask: OrderAsk; answer: AimAll }
  /** A setting heard from elsewhere, on this boat's rods. */
  like: { ask: LikeAsk; answer: AimLike }
  /** Whole spreads laid out, best first, each as a file. */
  lay: { ask: LayAsk; answer: LayAnswer }
  /** How one line goes out again while the others are out. */
  reset: { ask: ResetAsk; answer: ResetAnswer }
  /** What a manoeuvre does to the spread, sample by sample. */
  turn: { ask: TurnAsk; answer: TurnAnswer }
  /** The smallest radius to each side that keeps the margins. */
  tightest: { ask: TurnAsk; answer: TightAnswer }
  /** The part of a link that carries a scenario, after the #. */
  link: { ask: FileText; answer: LinkAnswer }
  /** The water's temperature by depth from the text of a file. */
  profile: { ask: ProfileAsk; answer: ProfileAnswer }
  /** The card to stick at the helm, as a drawing to print. */
  card: { ask: CardAsk; answer: CardAnswer }
  /** How a trip stands by its events: what is out, since when, effort, strikes, and where the open scenario differs from what was logged. */
  trip: { ask: TripAsk; answer: TripNow }
  /** A day's sheet: hours, anglers, kept and released by species. */
  day: { ask: DayAsk; answer: DayAnswer }
  /** The events of a file, and what is wrong with those that are not taken. */
  takein: { ask: TakeInAsk; answer: TakeInAnswer }
  /** Strikes or effort as a file for others. */
  handon: { ask: HandOnAsk; answer: HandOnAnswer }
}

export type OpName = keyof Ops

/** What each kind of a log's events has to say. */
export interface LogBodies {
  "trip-begins": LogTripBegins
  "trip-ends": LogTripEnds
  "line-set": LogLineSet
  "line-changed": LogLineChanged
  "line-checked": LogLineChecked
  "line-fouled": LogLineFouled
  "line-in": LogLineIn
  "strike": LogStrike
  "landed": LogLanded
  "lost": LogLost
  "conditions": LogConditions
  "measured": LogReading
  "note": LogNote
  "fix": LogFix
  "clock": LogClock
  "solved": LogSolved
}

/** One entry of a log, as it is kept and handed on. */
export interface LogEvent<K extends keyof LogBodies = keyof LogBodies> {
  id: string
  at: string
  by: string
  kind: K
  trip?: string
  rod?: string
  where?: Place
  /** of the log, that its reader needs; absent for the first */
  version?: number
  body: LogBodies[K]
}

/** The members of bodies that came after the first version, each with the version that it came with. */
export const LOG_NEWER: readonly [member: string, version: number][] = [
  ["line.settings.section_m", 2],
  ["change", 2],
]

/** Operations that report progress and may be canceled. */
export const LONG_OPS: readonly OpName[] = ["spread", "aim", "order", "like", "lay", "reset", "turn", "tightest", "profile", "card"]

/** Operations that only the whole engine has, not the one that is loaded first. */
export const WHOLE_OPS: readonly OpName[] = ["aim", "order", "like", "lay", "reset", "turn", "tightest", "link", "profile", "card", "trip", "day", "takein", "handon"]

/** A control of a setting: where it begins and ends and by what it goes, in its unit. */
export interface SettingScale {
  min: number
  max: number
  step: number
  unit: string // as a file has it; '' of colors and marks
}

/** One setting of a rod, or of the device that it is clipped to. */
export interface SettingRow {
  id: string
  owner: 'rods' | 'downriggers' | 'mast_boards' // the list that it is in
  key: string // in its map of the scenario file
  kind: "length" | "force" | "colors" | "mark" | "side" | "switch" | "flag" | "word"
  label: string
  words: readonly string[] // that it may be; of a switch or flag what off and on are
  is: { readonly [rig: string]: string } // what it measures, by kind of rig; '' for the others
  us?: SettingScale
  si?: SettingScale
}

export const SETTINGS: readonly SettingRow[] = [
  {"id":"line_out","is":{"board":"from the tip to the board","diver":"from the tip to the diver","flat-line":"from the tip to the lure","slide-through":"from the tip to the diver","weighted":"from the tip to the lure"},"key":"line_out","kind":"length","label":"Line out","owner":"rods","si":{"max":305,"min":0,"step":0.5,"unit":"m"},"us":{"max":1000,"min":0,"step":1,"unit":"ft"},"words":[]},
  {"id":"count_from","is":{},"key":"count_from","kind":"word","label":"Counted from","owner":"rods","words":["tip","water"]},
  {"id":"colors","is":{"":"of lead core, 30 ft each"},"key":"colors","kind":"colors","label":"Lead core out","owner":"rods","si":{"max":20,"min":0.5,"step":0.5,"unit":""},"us":{"max":20,"min":0.5,"step":0.5,"unit":""},"words":[]},
  {"id":"section","is":{"":"of copper or weighted steel, which goes out whole"},"key":"section","kind":"length","label":"Sinking line out","owner":"rods","si":{"max":305,"min":0,"step":0.5,"unit":"m"},"us":{"max":1000,"min":0,"step":1,"unit":"ft"},"words":[]},
  {"id":"cable_out","is":{"":"from the boom’s end to the ball; rods on the same cable move with it"},"key":"cable_out","kind":"length","label":"Cable out","owner":"downriggers","si":{"max":122,"min":0,"step":0.5,"unit":"m"},"us":{"max":400,"min":0,"step":1,"unit":"ft"},"words":[]},
  {"id":"lead","is":{"board":"from the board back to the lure","downrigger":"from the release back to the lure","mast-board":"from the release back to the lure","slide-through":"from the diver back to the lure"},"key":"lead","kind":"length","label":"Lead","owner":"rods","si":{"max":305,"min":0,"step":0.5,"unit":"m"},"us":{"max":1000,"min":0,"step":1,"unit":"ft"},"words":[]},
  {"id":"dial","is":{"diver":"from straight behind (0) to far to the side (4)"},"key":"dial","kind":"mark","label":"Dial","owner":"rods","si":{"max":4,"min":0,"step":0.5,"unit":""},"us":{"max":4,"min":0,"step":0.5,"unit":""},"words":[]},
  {"id":"side","is":{},"key":"side","kind":"side","label":"Side","owner":"rods","words":["port","starboard"]},
  {"id":"ring","is":{},"key":"ring","kind":"switch","label":"Ring","owner":"rods","words":["off","on"]},
  {"id":"tripped","is":{},"key":"tripped","kind":"flag","label":"Diver","owner":"rods","words":["set","tripped"]},
  {"id":"above_ball","is":{"downrigger":"up the cable from the ball"},"key":"above_ball","kind":"length","label":"Release above ball","owner":"rods","si":{"max":122,"min":0,"step":0.5,"unit":"m"},"us":{"max":400,"min":0,"step":1,"unit":"ft"},"words":[]},
  {"id":"along","is":{"mast-board":"from the mast to the release"},"key":"along","kind":"length","label":"Along the tow line","owner":"rods","si":{"max":305,"min":0,"step":0.5,"unit":"m"},"us":{"max":1000,"min":0,"step":1,"unit":"ft"},"words":[]},
  {"id":"tow_line_out","is":{"":"from the mast’s top to the board; rods on the same line move with it"},"key":"line_out","kind":"length","label":"Tow line out","owner":"mast_boards","si":{"max":305,"min":0,"step":0.5,"unit":"m"},"us":{"max":1000,"min":0,"step":1,"unit":"ft"},"words":[]},
  {"id":"set_load","is":{},"key":"set_load","kind":"force","label":"Set load","owner":"rods","words":[]},
  {"id":"trip_load","is":{},"key":"trip_load","kind":"force","label":"Trip load","owner":"rods","words":[]},
  {"id":"bottom","is":{},"key":"bottom","kind":"word","label":"Bottom","owner":"rods","words":["intended"]},
]

/** What a request gets: exactly one of the three. */
export type Reply<A> =
  | { answer: A; faults?: undefined; failed?: undefined }
  | { faults: Fault[]; answer?: undefined; failed?: undefined }
  | { failed: string; answer?: undefined; faults?: undefined }

/** Nothing is an empty request. */
export interface Nothing {
}

/** Versions says what answers. */
export interface Versions {
  api: number
  /** version of the scenario file */
  file: number
  /** version of the payload of links made here */
  link: number
}

/** CheckAsk is a scenario to look through. */
export interface CheckAsk extends Given {
  /** list the uncertain inputs too */
  registry?: boolean
}

/** Given is what most requests carry. */
export interface Given {
  /** of the scenario file, YAML or JSON */
  text: string
  /** a name for the text: given once with it, it stands for it while no other text is read */
  as?: string
  /** what faults call it; "scenario" when not given */
  name?: string
  /** edits to try as a command line has them, OWNER.KEY=VALUE: rods.p1.settings.dial=2 */
  set?: string[]
  /** edits to try */
  edits?: Edit[]
  /** of what a person reads: "us" (feet, mph, pounds) or "si" */
  units?: string
  /** Profile is the water's temperature by depth as a file has it, instead of the scenario's. */
  profile?: ProfileAsk
}

/**
 * Edit is one change of a scenario: a key of one thing takes another value, or a thing
 * comes or goes. It names things by their ids and never by their places in a list; what
 * has no id, as a point of a temperature profile, changes with the list that it is in.
 */
export interface Edit {
  /** when not given, a key is set */
  do?: EditKind
  /** "rods.p1", "gear.lures.spoon-1", "water"; the list for a thing that is added: "rods" */
  owner?: string
  /** of the owner: "settings.lead", "temperature" */
  key?: string
  /** as in the file: YAML or JSON */
  value?: string
}

/** EditKind says what an edit does. */
export type EditKind = "" | "add" | "remove"

/** ProfileAsk is the text of a file of temperatures by depth, CSV or NDBC .ocean. */
export interface ProfileAsk {
  /** what faults call it */
  name?: string
  text: string
}

/** Checked is what a scenario holds and what is wrong with it. */
export interface Checked {
  faults: Fault[]
  name: string
  note: string
  rods: RodName[]
  devices: RodName[]
  /** rods that cannot be fished as described */
  refused: string[]
  /** every uncertain input */
  registry: RegistryEntry[]
}

/**
 * Fault is something wrong with what a person gave: where, what was found, what is
 * allowed, what to do next.
 */
export interface Fault {
  /** "unknown-key", "wrong-unit", "missing", "duplicate-id", "out-of-range", "unknown-gear", "refused", ... */
  code: string
  /** "rods[2].settings.dial" */
  path?: string
  file?: string
  /** 1-based; 0: not known */
  line?: number
  column?: number
  /** one lower-case sentence */
  text: string
  found?: string
  allowed?: string[]
  hint?: string
}

/** RodName is a rod or a device, by what the crew calls it. */
export interface RodName {
  id: string
  position: string
  /** of the rig; "downrigger" or "mast-board" of a device */
  kind: string
  /** -1 port, +1 starboard */
  side: number
  fixed?: boolean
  /** downrigger or mast board that the rod is on */
  device?: string
  /** settings of the rod that a hand may change: keys under settings */
  marks?: string[]
}

/** RegistryEntry is one uncertain input. */
export interface RegistryEntry {
  name: string
  scope: string
  /** SI */
  nominal: number
  unit: string
  /** "normal", "lognormal", "uniform", "exact" */
  spread: string
  /** in the unit; lognormal: relative */
  sd: number
  source: string
}

/** SpreadAsk asks where everything runs. */
export interface SpreadAsk extends Given {
  /** find the 80 % interval of every depth */
  intervals?: boolean
  /** answer the fan */
  fan?: boolean
  /** answer the lines plan */
  plan?: boolean
  /** answer the lines plan with the boat alone on it */
  boat?: boolean
  /** answer the curves and the water, for one who draws them */
  curves?: boolean
}

/** Spread is the whole boat solved. */
export interface Spread {
  /** what a captain reads first */
  headline: string
  verdict: Verdict
  /** what the answer does not cover */
  missing?: Missing[]
  rows: Row[]
  /** of the rows' columns */
  units: Row
  cautions: string[]
  tracks: TrackState[]
  /** of the boat as a whole */
  warnings: Warning[]
  speed: SpeedFan
  fan?: Fan
  plan?: Drawing
  /** with the curves */
  water?: WaterFan
  /** of the tracks, in their order */
  curves?: Curves[]
  points?: ArrayLike<number>
}

/** Verdict is what is to be said of a solved spread, once, for every view of it. */
export interface Verdict {
  /** the worst of the findings */
  grade: Grade
  headline: string
  /** worst first */
  findings: Finding[]
}

/** Grade says how bad a finding is. */
export type Grade = "lines-cross" | "aground" | "gives-way" | "may-foul" | "set-wrong" | "off-speed" | "inside-margin" | "worth-knowing" | "clear"

/** Finding is one thing that is wrong with a solved spread, or worth knowing. */
export interface Finding {
  /** docs/findings.md lists them */
  code: string
  grade: Grade
  /** and devices, and parts of the boat, by id */
  rods: string[]
  /** between the two, plain */
  distance_m?: number
  /** that the file gives there */
  margin_m?: number
  /** where the two are so near, boat frame, m */
  places?: [[number, number, number], [number, number, number]]
  /** one sentence */
  text: string
  /** what to do about it */
  do?: string
}

/** Missing is a rod or device that an answer does not cover, and why. */
export interface Missing {
  rod: string
  why: string
}

/** Row is one row of the table in words, without units: [RowUnits] has them. */
export interface Row {
  /** id of the rod or device */
  rod: string
  /** id of the lure or body that the row is about */
  part?: string
  /** as the crew calls it; of a body its kind */
  name: string
  lure: string
  setting: string
  line_out: string
  depth: string
  /** 4 times in 5 the depth is inside */
  span: string
  side: string
  astern: string
  pull: string
  angle: string
}

/** TrackState is a rod or device without its curves. */
export interface TrackState {
  rod: string
  device?: boolean
  position: string
  side: number
  status: Status
  line_out_m: number
  tip_pull_n: number
  line_angle_deg: number
  settings: string
  bodies: BodyFan[]
  lures: LureFan[]
  warnings: Warning[]
}

/** Status is the outcome of one rod. */
export type Status = "ok" | "bottom" | "surface" | "over-strength" | "beyond-spool" | "not-converged" | "refused"

/** BodyFan is a device or weight: position and the 80 % interval of its depth. */
export interface BodyFan {
  id: string
  kind: string
  depth_m: number
  depth_lo_m: number
  depth_hi_m: number
  /** positive to starboard */
  side_m: number
  astern_m: number
}

/** LureFan is a lure: position, interval, and its speed through the water against its window. */
export interface LureFan extends BodyFan {
  through_water_mps: number
  window_mps?: [number, number]
  temperature_c?: number
  drivers?: Driver[]
}

/** Driver is one uncertain input's share of a depth's variance. */
export interface Driver {
  name: string
  share: number
}

/** Warning is something that a person should know, in words, with the next step. */
export interface Warning {
  code: string
  text: string
  hint?: string
}

/** SpeedFan is the speed that was given and the two that follow from the current. */
export interface SpeedFan {
  given: SpeedKind
  over_ground_mps: number
  surface_mps: number
  /** at ProbeDepth */
  probe_mps?: number
  probe_depth_m?: number
}

/** SpeedKind says what was measured. */
export type SpeedKind = "surface" | "ground" | "probe"

/** Fan is the solved spread: where everything runs. SI, boat frame, unrounded. */
export interface Fan {
  version: number
  name?: string
  speed: SpeedFan
  rods: Track[]
  /** downriggers and mast boards, shared by rods */
  devices?: Track[]
  /** nil: not judged */
  verdict?: Verdict
  /** rods that the answer does not cover */
  missing?: Missing[]
  warnings?: Warning[]
  water: WaterFan
}

/** Track is one rod or device solved. */
export interface Track {
  rod: string
  position?: string
  /** -1 port, +1 starboard, 0 neither: of the holder or boom */
  side: number
  status: Status
  line_out_m: number
  tip_pull_n: number
  /** from the horizontal, where the line enters the water */
  line_angle_deg: number
  /** in words, in the units asked for: "dial 2 port, ring on" */
  settings?: string
  parts: PartFan[]
  bodies: BodyFan[]
  lures: LureFan[]
  warnings: Warning[]
  solve: SolveCount
}

/** PartFan is the curve of one part, tip first. */
export interface PartFan {
  id: string
  kind: PartKind
  points: ([number, number, number])[]
  /** at its upper and lower end */
  pull_n: [number, number]
}

/** PartKind is the kind of a part. */
export type PartKind = "line" | "leader" | "diver" | "snubber" | "attractor" | "lure" | "board" | "release" | "slider" | "weight"

/** SolveCount says how much work a solution took and how well it closed. */
export interface SolveCount {
  iterations: number
  steps: number
  residual_m: number
}

/** WaterFan is what the views need of the water. */
export interface WaterFan {
  bottom_m?: number
  /** depth m, deg C */
  temperature_c?: ([number, number])[]
}

/**
 * Drawing is a picture without colors or pixels: views with shapes in metres. Renderers
 * and the app give it ink; schemes map classes to colors.
 */
export interface Drawing {
  title: string
  /** under the picture: speed, water, cautions */
  note?: string
  /** the whole picture in words */
  alt: string
  /** of the sheet, metres of the lake at the one scale */
  width_m: number
  height_m: number
  /** mm that the sheet is laid out to be across; 0 is 297 */
  sheet_mm?: number
  /** title and note are not drawn: the views hold every word of the page */
  bare?: boolean
  views: View[]
}

/** View is one projection with its frame on the sheet. All views of a drawing share one scale. */
export interface View {
  /** "side", "above", "astern", or a chart's name */
  id: string
  title: string
  /** sheet coordinates of the frame's upper left corner */
  place: [number, number]
  /** to the right */
  u: Axis
  /** downward */
  v: Axis
  shapes: Shape[]
}

/**
 * Axis is the range of a view in metres and its ticks in a person's unit. The sheet
 * coordinate of the value x is Place + (x - From) when From < To and Place + (From - x)
 * otherwise, so that an axis may run either way.
 */
export interface Axis {
  /** with unit: "depth (ft)" */
  label: string
  from: number
  to: number
  ticks: Tick[]
}

/** Tick is a mark on an axis. */
export interface Tick {
  at: number
  text: string
}

/** Shape is one thing drawn, in the view's own coordinates (metres). */
export interface Shape {
  kind: ShapeKind
  points: ([number, number])[]
  /** "line port", "interval starboard", "bottom", "water", "hull", ... */
  class: string
  /** marker: "lure", "diver", "ball", "board", "weight", "tip", "tick" */
  sign?: string
  text?: string
  /** text: "start", "middle", "end" */
  anchor?: string
  /** text: height of its line of letters, meters as the points are; 0 is a label's */
  size?: number
  rod?: string
  part?: string
  alt?: string
}

/** ShapeKind is the kind of a shape. */
export type ShapeKind = "line" | "area" | "marker" | "bar" | "text"

/** Curves says which of the points are a track's curves. */
export interface Curves {
  parts: MovedPart[]
}

/** MovedPart says which of the points are a part's curve, tip first. */
export interface MovedPart {
  id: string
  kind: PartKind
  /** index of the first point: its x stands at 3 from */
  from: number
  count: number
}

/** Moved is what a change moved: the tracks of the groups that had to be solved again. */
export interface Moved {
  tracks: MovedTrack[]
  speed: SpeedFan
  points?: ArrayLike<number>
}

/** MovedTrack is one rod or device that moved. */
export interface MovedTrack extends TrackState {
  parts: MovedPart[]
  /** as in the table; without intervals */
  rows: Row[]
}

/** PathsAsk asks for one rod's possibilities. */
export interface PathsAsk extends Given {
  rod: string
  intervals?: boolean
  /** answer the view from astern with the paths on it */
  drawing?: boolean
}

/** PathsAnswer is one rod's possibilities. */
export interface PathsAnswer {
  paths: Paths | null
  drawing?: Drawing
}

/**
 * Paths is one rod's possibilities: for each dial mark (or the one setting the rig has)
 * the way its lure takes as line goes out.
 */
export interface Paths {
  rod: string
  /** what a path is for: "dial", "ring", ... */
  vary: string
  paths: Path[]
}

/** Path is one line of possibilities. */
export interface Path {
  /** "dial 2" */
  label: string
  mark: number
  ticks: PathTick[]
}

/** PathTick is the lure's place at one count. */
export interface PathTick extends LureFan {
  line_out_m: number
  tip_pull_n: number
  status: Status
  /** it has no place there */
  why?: string
}

/** SpeedsAsk asks which speed to hold. */
export interface SpeedsAsk extends Given {
  /** "ball", a downrigger's id, or a depth as in "60 ft" */
  at: string
  /** speed through the water there, as in "2.2 mph" */
  want: string
}

/** SpeedsAnswer is the table and the same in words. */
export interface SpeedsAnswer {
  table: SpeedTable | null
  words: string
}

/** SpeedTable answers which speed over ground to hold on each heading. */
export interface SpeedTable {
  at: string
  want_mps: number
  depth_m: number
  rows: SpeedRow[]
  lures: WindowRow[]
  /** through water; nil: the windows do not overlap */
  overlap_mps: [number, number] | null
  apart?: Warning[]
}

/** SpeedRow is one heading. */
export interface SpeedRow {
  heading_deg: number
  over_ground_mps: number
  surface_mps: number
  ok: boolean
}

/** WindowRow is one lure's speed window and the surface speed at which it is in it. */
export interface WindowRow {
  rod: string
  /** what the crew calls the rod */
  position?: string
  lure: string
  depth_m: number
  window_mps: [number, number]
  now_mps: number
}

/**
 * EditAsk asks for the file after edits. What the new values must be is checked too
 * unless Loose is set: a form half filled in may be kept.
 */
export interface EditAsk {
  text: string
  name?: string
  edits: Edit[]
  loose?: boolean
}

/** FileText is a scenario file. */
export interface FileText {
  text: string
}

/**
 * Form is a file key by key: objects, arrays, and every single value as the text that
 * stands in the file.
 */
export interface Form {
  file: FormValue
}

/** GearAsk asks which gear there is. The text may be empty: then only what is built in. */
export interface GearAsk {
  text?: string
  /** every field of the built-in gear too */
  full?: boolean
}

/** GearAnswer is the gear by kind. */
export interface GearAnswer {
  kinds: GearKind[]
  /**
   * BuiltIn is the built-in gear written out as in a file, by the keys of the kinds:
   * each number with its uncertainty and source.
   */
  built_in?: FormValue
}

/** GearKind is the gear of one kind. */
export interface GearKind {
  /** "line", "lure", ...: also the key of a part of a rig */
  kind: string
  /** of the list under gear: "lines", "lures", ... */
  key: string
  /** the file's */
  own: GearName[]
  built_in: GearName[]
}

/** GearName is one piece of gear. */
export interface GearName {
  id: string
  /** "braid", "spoon", ... */
  kind: string
  from?: string
}

/** SpoolsAnswer is the spools of the rods that have a reel. */
export interface SpoolsAnswer {
  spools: Spool[]
}

/**
 * Spool is how a rod's spool stands: its size, what is wound on it, and how full it is
 * with the rod's line out, by the volume of the wound lines.
 */
export interface Spool {
  rod: string
  /** gear id */
  reel: string
  arbor_m: number
  flange_m: number
  width_m: number
  /** with nothing out, backing first */
  lines: OnReel[]
  out_m: number
  /** of the wound line with that much out */
  diameter_m: number
  /** the same with nothing out */
  start_m: number
  /** part of the room that is taken then */
  full: number
  /** all of it fits with nothing out */
  fits: boolean
  /** line out beyond what is on the spool */
  beyond_m: number
}

/** OnReel is line wound on a reel. */
export interface OnReel {
  diameter_m: number
  length_m: number
}

/** QuantityAsk asks for quantities as they are shown. */
export interface QuantityAsk {
  units?: string
  items: QuantityItem[]
}

/** QuantityItem is a quantity as a person writes it, or its SI value. */
export interface QuantityItem {
  /** "length", "small" (a small length), "speed", "force", "mass", "small-mass", "angle", "temperature" */
  kind: string
  text?: string
  si?: number
}

/** QuantityAnswer holds the quantities in the order asked. */
export interface QuantityAnswer {
  items: Quantity[]
}

/** Quantity is a value with how it is shown. */
export interface Quantity {
  si: number
  /** number and unit as shown, rounded */
  text: string
  /** of the two, the number */
  number: string
  unit: string
}

/** LinkAsk is the payload of a link, as it stands after the #. */
export interface LinkAsk {
  payload: string
}

/** AimAsk asks how one rod's lure gets to a depth, and to a side where one is given. */
export interface AimAsk extends Given {
  rod: string
  depth_m: number
  /** from the center line, to the side on which the rod fishes */
  side_m?: number
  /** part id; the rod's last lure when not given */
  lure?: string
  /** settings not to change */
  keep?: string[]
  /** ways to answer; 5 when not given */
  top?: number
  intervals?: boolean
}

/**
 * Aim is how one rod's own gear puts its lure where it is wanted: the ways it can, best
 * first, or how near it comes and which single change would do it. SI, boat frame.
 */
export interface Aim {
  version: number
  rod: string
  position?: string
  /** part id of the lure that is aimed */
  lure: string
  depth_m: number
  /** wanted, from the center line to the rod's side */
  side_m?: number
  /** settings that were not to change */
  kept?: string[]
  now?: Way
  ways: Way[]
  /** ways found in all, of which Ways are the best */
  found: number
  /** false: stopped early, this is the best so far */
  finished: boolean
  /** when no way was found */
  limit?: AimLimit
  /** each enough by itself */
  changes?: AimChange[]
}

/** Way is one set of settings and where the lure runs with it. */
export interface Way {
  /** in the order of hands */
  settings: WaySetting[]
  /** "dial 2 port, let out 148 ft" */
  text: string
  /** the same as changes of the file, KEY=VALUE; empty: more than settings change */
  set: string[]
  /** the setting that was found, not chosen from a list */
  vary: string
  /** its value before rounding to a step, SI */
  exact: number
  /** with the exact value */
  depth_m: number
  line_out_m: number
  tip_pull_n: number
  status: Status
  /** with the rounded value */
  lure: LureFan
  slower?: WayAt
  faster?: WayAt
  others?: WayOther[]
  warnings?: Warning[]
}

/** WaySetting is one setting of a way. */
export interface WaySetting {
  /** "dial", "line-out", ... */
  key: string
  value: number
  text: string
  changed: boolean
}

/** WayAt is where the lure of a way runs at another speed of the kind that was given. */
export interface WayAt {
  speed_mps: number
  depth_m: number
  /** as those of a lure */
  depth_lo_m: number
  depth_hi_m: number
  side_m: number
  /** what gives way at that speed */
  limit?: string
}

/** WayOther is another lure that moves with the same cable or board. */
export interface WayOther {
  rod: string
  lure: string
  from_m: number
  depth_m: number
  depth_lo_m: number
  depth_hi_m: number
}

/**
 * AimLimit is the reachable depth nearest to one that is out of reach, and what stops
 * the rod there.
 */
export interface AimLimit {
  depth_m: number
  exact: number
  vary: string
  /** in words: "the spool ends" */
  why: string
  way?: Way
}

/** AimChange is a single change of gear, speed or what was kept, that reaches the target. */
export interface AimChange {
  /** "speed", "line", "diver", "ring", "ball", "weight", "lure", "reel", "keep" */
  kind: string
  /** "thinner line: braid-30 for braid-50" */
  text: string
  /** the scenario has no such thing */
  buy: boolean
  way?: Way
}

/** OrderAsk asks for a change of every rod at once. */
export interface OrderAsk extends Given {
  /** "down 10 ft", "up 2 m", "to 65 ft" */
  order: string
  intervals?: boolean
}

/** AimAll is a change of every rod at once. */
export interface AimAll {
  version: number
  /** as it was said */
  order: string
  /** false: stopped early, this is the best so far */
  finished: boolean
  rods: AimMove[]
  /** all of it as changes of the file, KEY=VALUE */
  set: string[]
  /** pairs inside the margins and nearer than before */
  close?: AimGap[]
  /** pairs inside the margins as they were before */
  tight?: Gap[]
  /** the nearest pair */
  least?: Gap
}

/** AimMove is what one rod does in a change of every rod. */
export interface AimMove {
  rod: string
  position?: string
  from_m: number
  from_lo_m: number
  from_hi_m: number
  want_m: number
  /** where it runs in the moved spread */
  to: LureFan
  /** nil: it stays */
  way?: Way
  /** why */
  stays?: string
  /** why it does not go all the way */
  short?: string
}

/** AimGap is a pair of lines that could not be kept apart. */
export interface AimGap extends Gap {
  why: string
}

/**
 * Gap is how near two parties of the spread come to each other, in the measure of the
 * margins: see package spread. A party is a rod or a device by its id, or a part of the
 * boat: see [PartOfBoat].
 */
export interface Gap {
  a: string
  b: string
  part_a?: string
  part_b?: string
  /** between the two places */
  distance_m: number
  /** its parts */
  horizontal_m: number
  vertical_m: number
  /** the places, boat frame, m */
  at_a: [number, number, number]
  at_b: [number, number, number]
  /** the margins that hold there */
  margin_horizontal_m: number
  /** grown by the intervals */
  margin_vertical_m: number
  /** below 1: inside the margin */
  ratio: number
}

/** LikeAsk asks what a setting heard from elsewhere is on this boat's rods. */
export interface LikeAsk extends Given {
  /** "wire, large, dial 2, 180ft" */
  said: string
  /** ways to answer for each rod; 5 when not given */
  top?: number
  intervals?: boolean
}

/**
 * AimLike is a setting heard from elsewhere: how it was understood, where its lure runs
 * on this boat's water, and how each rod gets there.
 */
export interface AimLike {
  version: number
  said: string
  /** false: stopped early, this is the best so far */
  finished: boolean
  /** as understood */
  taken: string[]
  /** what was not said */
  assumed: string[]
  lure: LureFan
  speed_mps: number
  rods: Aim[]
}

/** LayAsk asks for a whole spread laid out. */
export interface LayAsk extends Given {
  /** plans, really unlike one another; 2 when not given */
  top?: number
  /** the same seed, the same plans */
  seed?: number
}

/** LayAnswer is the plans, the same in words, and each as a file. */
export interface LayAnswer {
  layout: Layout | null
  /** what a captain reads first */
  headline: string
  /** the program's table */
  words: string
  /** in the layout's order */
  plans: PlanText[]
}

/**
 * Layout is what planning a spread comes to: the best plans, best first, or the rules
 * that leave none.
 */
export interface Layout {
  version: number
  name?: string
  seed: number
  plans: Plan[]
  bands: BandWant[]
  /** no plan scores more: every line at its best, pairs not looked at */
  bound: number
  /** every plan in these steps was tried or ruled out */
  proven: boolean
  /** false: stopped early, the best so far */
  finished: boolean
  /** plans scored */
  looked: number
  conflict?: LayRule[]
  /** the weights in use, Value 0 */
  weights: LayTerm[]
  warnings?: Warning[]
}

/** Plan is one way to lay the spread out. */
export interface Plan {
  /** 0 to 1 */
  score: number
  terms: LayTerm[]
  bands: BandCover[]
  /** in the order of the file */
  rods: Placed[]
  /** rods that stay in the rack */
  left?: LeftOut[]
  fan: Fan | null
  /** the least clearance */
  nearest?: Gap
  speed: SpeedLure[]
  /** in the order to set */
  set: SetStep[]
  /** rods in the order to take in */
  clear: string[]
  set_minutes: number
  clear_minutes: number
  people: number
  crossings?: Crossing[]
  /** the turns intended, as far as they were looked at */
  turns?: PlanTurn[]
}

/** LayTerm is one term of a score. */
export interface LayTerm {
  name: string
  weight: number
  /** 0 to 1: how well it is met */
  value: number
}

/** BandCover is how a band is covered. */
export interface BandCover {
  from_m: number
  to_m: number
  /** lures meant for it */
  want: number
  /** 0 to 1 */
  cover: number
  /** that count toward it, the nearer the more */
  rods: string[]
  /** lures that run in it */
  in: number
  /** of Rods, those whose lures all run above it */
  above?: string[]
  below?: string[]
}

/** Placed is one rod of a plan. */
export interface Placed {
  rod: string
  holder: string
  position: string
  /** when it is rigged otherwise than in the file */
  kit?: string
  /** that its lure is meant for; -1: none */
  band: number
  settings: string
  fixed?: boolean
  /** to another holder */
  moved?: boolean
  /** the strongest first */
  why: LayReason[]
  cautions?: Warning[]
}

/** LayReason is why a rod is where it is: a code with what it speaks of. */
export interface LayReason {
  code: string
  /** another rod it is about */
  rod?: string
  value?: number
}

/** LeftOut is a rod that a plan does not use. */
export interface LeftOut {
  rod: string
  /** "cap", "no-room", "no-depth", "no-gain" */
  code: string
}

/** SpeedLure is what a lure does when the boat goes slower and faster. */
export interface SpeedLure {
  rod: string
  lure: string
  /** change of depth, + deeper */
  slower_m: number
  faster_m: number
  /** of speed, either way */
  change_mps: number
}

/** SetStep is one line going out. */
export interface SetStep {
  rod: string
  /** of hands on it */
  minutes: number
  /** minutes after the first */
  starts: number
  /** lines already out that it comes nearest to on its way; A is the rod */
  passes?: Gap[]
}

/**
 * Crossing is a line that comes inside the margin of one that is already out when it is
 * set, whatever the order.
 */
export interface Crossing {
  rod: string
  over: string
  gap: Gap
}

/**
 * PlanTurn is what a turn that is intended does to a plan, nominal and with the margins
 * grown by the intervals.
 */
export interface PlanTurn {
  to: number
  angle_rad: number
  /** through the surface water, at its beginning */
  radius_m: number
  rate_rad_s: number
  /** to come about */
  time_s: number
  begin_s: number
  nearest?: TurnPair
  /** that it brings inside their margin, the nearest first */
  broken: TurnPair[]
  /** rods and devices whose way is not known to its end */
  lost?: string[]
}

/** TurnPair is how near two parties come, when, and how often in sampled worlds. */
export interface TurnPair extends Gap {
  t_s: number
  /** as they run before it */
  first_ratio: number
  risk?: Risk
}

/**
 * Risk is how many of the sampled worlds break a margin, with the figure's own 80 %
 * interval (Wilson 1927).
 */
export interface Risk {
  broken: number
  of: number
  lo: number
  hi: number
}

/** BandWant is a band with how many lures are meant for it. */
export interface BandWant {
  from_m: number
  to_m: number
  weight: number
  lures: number
  /** of a band that was proposed from temperatures */
  reason?: string
}

/** LayRule is a rule that a plan must keep. */
export interface LayRule {
  /** "fixed", "cap-lines", "cap-lures", "have", "clearance", "bottom", "spool", "strength", "trip", "least-lines", "least-band", "holder", "cable" */
  code: string
  /** the rod, gear or band it is of */
  what?: string
  text: string
}

/** PlanText is one plan as a file and its reasons in words. */
export interface PlanText {
  text: string
  reasons: RodText[]
}

/** RodText is a sentence about one rod. */
export interface RodText {
  rod: string
  text: string
}

/** ResetAsk asks how one rod's line goes out again while the others are out. */
export interface ResetAsk extends Given {
  rod: string
  /** the same seed, the same answer */
  seed?: number
}

/** ResetAnswer is how, the same in words, and the spread afterward as a file. */
export interface ResetAnswer {
  reset: Reset | null
  words: string
  /** none: it does not go out */
  text?: string
}

/** Reset is how one line goes out again while the rest are out. */
export interface Reset {
  rod: string
  /** "as-was", "slide", "other", "none" */
  how: string
  settings?: string
  /** of other lines, first to last, before it goes out */
  moves?: ResetMove[]
  passes: Gap[]
  /** what is in the way of setting it as it was */
  blocked?: Gap
  fan: Fan | null
  minutes: number
}

/** ResetMove is another line that lets out more to make room. */
export interface ResetMove {
  rod: string
  from_m: number
  to_m: number
}

/** TurnAsk asks what a manoeuvre does. What is not given is the file's, or the default. */
export interface TurnAsk extends Given {
  /** -1 port, +1 starboard */
  to?: number
  /** change of heading */
  angle_rad?: number
  /** through the surface water */
  radius_m?: number
  /** of turn, instead of a radius */
  rate_radps?: number
  /** through the surface water at its end */
  speed_to_mps?: number
  /** straight on before it */
  before_s?: number
  /** and after it */
  after_s?: number
  /** in which the rate of turn comes and goes */
  yaw_ramp_s?: number
  /** Track is the boat's way point by point, instead of a turn. */
  track?: TrackFix[]
  /**
   * Event is what happens instead of a turn: "strike:ROD", "let-out:ROD", "board-pops:ROD",
   * "stop"; or "set" and "clear": the lines go out or come in one after another, straight
   * on unless a turn is given too.
   */
  event?: string
  fish_pull_n?: number
  /** from the boat's heading toward its rod's side */
  fish_heading_rad?: number
  /** at which its reel gives line */
  drag_n?: number
  /** at which lines go out and come in */
  pay_rate_mps?: number
  /** of what is let out */
  pay_length_m?: number
  /** in which the boat loses her way */
  stop_in_s?: number
  /** aboard when lines go out and come in; the file's when not given */
  people?: number
  /** between samples; 1, of lines going out and coming in 4, when not given */
  every_s?: number
  /** of the longest line, for studies; 20 when not given */
  nodes?: number
  /** sampled, for how often lines come close */
  worlds?: number
  seed?: number
  /** only what is quick: the side asked for, without intervals and with margins as wanted */
  first?: boolean
  /** a turn that breaks margins is widened until it does not */
  wider?: boolean
  /** keep the lines' shapes about every two seconds */
  shapes?: boolean
  /** shapes and series as points to draw instead of number by number */
  draw?: boolean
}

/** TrackFix is where the boat was at a time, from her first place. */
export interface TrackFix {
  t_s: number
  north_m: number
  east_m: number
}

/**
 * TurnAnswer is the manoeuvre and what to say of it. Of one to draw the tracks' series are
 * empty and stand in Points.
 */
export interface TurnAnswer {
  turn: Turn | null
  words: string[]
  /** it has no intervals, and of the other side nothing */
  first?: boolean
  /** of each track */
  drawn?: TurnDrawn[]
  points?: number[]
}

/**
 * Turn is what a manoeuvre does to a spread. Places are over ground: x along the boat's
 * first heading from where her origin was at the start, y to starboard of it, depth down.
 */
export interface Turn {
  version: number
  name?: string
  manoeuvre: TurnPlan
  /** between the samples of all series */
  every_s: number
  boat: TurnPose[]
  /** samples from one of the tracks' shapes to the next; 0: there are none */
  shapes_every?: number
  tracks: TurnTrack[]
  /** of setting or clearing, in the order in which they begin */
  tasks?: TurnTask[]
  /** every two parties, the nearest first in the margins' measure */
  pairs: TurnPair[]
  other_side?: TurnOther
  /** a wider turn to the same side that brings no two inside their margin, when this one does and one was looked for */
  least?: TurnLeast
  /** after a strike: what comes nearest to its line in a slow wide circle */
  circles?: TurnOther[]
  /** sampled */
  worlds: number
  worlds_unsolved?: number
  /** of straight running, before it */
  verdict?: Verdict
  /** rods that the answer does not cover, or not to the end */
  missing?: Missing[]
  /** that any two come inside their margin that did not run inside it before */
  risk?: Risk
  warnings: Warning[]
}

/** TurnPlan is the manoeuvre as it was run. */
export interface TurnPlan {
  /** "": a turn; "track", "stop", "strike", ... */
  event?: string
  /** of the event */
  rod?: string
  to: number
  angle_rad: number
  /** through the surface water */
  radius_m: number
  rate_rad_s: number
  /** through the surface water */
  speed_mps: number
  speed_to_mps: number
  yaw_ramp_s: number
  /** aboard, while lines are set or cleared */
  people?: number
  /** at which lines go out or come in then */
  pay_mps?: number
  /** after the straight leg before it */
  begin_s: number
  /** of the manoeuvre itself */
  end_s: number
  /** of the straight leg after it */
  until_s: number
}

/** TurnPose is the boat at one time. */
export interface TurnPose {
  t_s: number
  x_m: number
  y_m: number
  /** from the first, to starboard */
  heading_rad: number
}

/** TurnTrack is one rod or device through the manoeuvre. */
export interface TurnTrack {
  rod: string
  position?: string
  side: number
  device?: boolean
  status: Status
  /** where the solver gave up */
  stopped_s?: number
  /** the tip first */
  points: TurnPoint[]
  tip_pull_n: number[]
  /**
   * Shapes are the lines as they lie, thinned to what a drawing needs: by chain (a clipped
   * rod has several), at every so many samples from the first on, the points one after
   * another as x, y, z in centimeters in the boat's frame (x forward, y to starboard, z
   * down), from the tip on. Empty while a line is not out.
   */
  shapes_cm?: number[][][]
  warnings: Warning[]
}

/** TurnPoint is a tip, a body or a lure through the manoeuvre, a value a sample. */
export interface TurnPoint {
  id: string
  kind: string
  lure?: boolean
  window_mps?: [number, number]
  /** 80 % interval of its depth straight on */
  depth_lo_m: number
  depth_hi_m: number
  at_m: ([number, number, number])[]
  through_water_mps: number[]
}

/** TurnTask is one line going out or coming in. */
export interface TurnTask {
  rod: string
  starts_s: number
  ends_s: number
}

/** TurnOther is the same manoeuvre to the other side, nominal. */
export interface TurnOther {
  to: number
  nearest?: TurnPair
}

/** TurnLeast is about the tightest turn to a side, from the one asked for on, that keeps the margins. */
export interface TurnLeast {
  radius_m: number
  /** it takes, without the straight legs */
  time_s: number
}

/**
 * TurnDrawn says where a track's series stand in the points: those of its points one after
 * another, a place over ground for each sample, then the shapes of its chains one after
 * another, in the boat's frame. All in meters, depth down.
 */
export interface TurnDrawn {
  /** index of the first: its x stands at 3 from */
  from: number
  /** of each of the track's points; fewer than of the boat when it stopped */
  samples: number
  /** by chain: how many points each shape has */
  shapes: number[][]
}

/** TightAnswer is how tight a turn each side allows. */
export interface TightAnswer {
  /** port, starboard */
  sides: Tightest[]
}

/** Tightest is how small a radius keeps the margins, to one side. */
export interface Tightest {
  to: number
  /** 0: none of those tried keeps them */
  radius_m: number
  /** to come about */
  time_s: number
  angle_rad: number
  /** what comes inside its margin first when tighter */
  gives?: TurnPair
  /** at that radius */
  risk?: Risk
}

/** LinkAnswer is the payload of a link. */
export interface LinkAnswer {
  /** after the #; letters, digits and - _ . only */
  payload: string
}

/** ProfileAnswer is the newest profile in the file. */
export interface ProfileAnswer {
  /** depth m, deg C, going down */
  points: ([number, number])[]
  /** the time of its newest reading as the file has it */
  measured?: string
  /** how many went into it */
  readings: number
}

/** CardAsk asks for the card to stick at the helm. */
export interface CardAsk extends Given {
  /** "a5" or "letter" */
  page?: string
  /** rods in the order to set; those left out follow from the outside in */
  order?: string[]
  /** as it is to be printed */
  date?: string
  /** as it is to be printed */
  file?: string
}

/** CardAnswer is the card as a drawing, and its paper. */
export interface CardAnswer {
  drawing: Drawing | null
  wide_mm: number
  tall_mm: number
  /** the rods in the order printed */
  order: string[]
}

/** TripAsk asks how a trip stands by its events. */
export interface TripAsk extends Given {
  /** of the trip and of none, with what corrects them: JSON, one after another */
  events: string
  /** the id of the event that began it */
  trip: string
  /** now: effort of a trip under way is counted until then */
  at_ms: number
}

/** TripNow is a trip at a moment. */
export interface TripNow {
  trip: string
  name: string
  /** local, as 2026-07-04 */
  day: string
  from_ms: number
  to_ms: number
  ended: boolean
  /** 0: not given */
  anglers: number
  rod_hours: number
  /** the open scenario's, then those that only the log knows */
  rods: RodNow[]
  catches: StrikeNow[]
  /** as they stand after corrections, in order of time; then those taken back */
  entries: EntryNow[]
  conditions: LogConditions
  conditions_words: string
  /** as the open scenario has them */
  shown?: LogConditions
  /** where those are not the ones logged, in words */
  shown_differs?: string
  notices: LogNotice[]
  /** what the last strikes share, a sentence each, strongest evidence first */
  fired: string[]
  shares?: Fired
  /** of the open scenario */
  faults?: Fault[]
}

/** RodNow is a rod in a trip. */
export interface RodNow {
  rod: string
  position: string
  out: boolean
  fouled?: boolean
  /** the event that put its line there or last changed it */
  set?: string
  since_ms?: number
  /** known to have run free then */
  checked_ms?: number
  /** as logged, in words; where its lure runs */
  settings: string
  strikes: number
  rod_hours: number
  /** as the open scenario has it: to be logged as set or changed */
  line?: LogLine
  /** that in words */
  shown?: string
  /** where that is not what is logged as out, in words */
  differs?: string
}

/** StrikeNow is a strike and what became of it. */
export interface StrikeNow {
  strike: string
  at_ms: number
  /** local, as 06:12 */
  time: string
  rod: string
  position: string
  lure?: string
  species?: string
  outcome?: Outcome
  fate?: LogFate
  length_m?: number
  mass_kg?: number
  note?: string
  /** in words, with its interval */
  depth: string
  counted: boolean
}

/** Outcome is how a strike ended. */
export type Outcome = "landed" | "lost"

/** Fate is what became of a fish in the boat. */
export type LogFate = "kept" | "released"

/** EntryNow is an event as it stands. */
export interface EntryNow {
  id: string
  /** with the clock put right */
  at_ms: number
  time: string
  kind: LogKind
  rod?: string
  by: string
  words: string
  /** taken back */
  void?: boolean
  /** what corrected it, latest first */
  fixes?: string[]
  /** of what may be corrected by hand: strikes, fish, conditions, measurements, notes */
  body?: unknown
}

/** Kind names what happened. */
export type LogKind = "trip-begins" | "trip-ends" | "line-set" | "line-changed" | "line-checked" | "line-fouled" | "line-in" | "strike" | "landed" | "lost" | "conditions" | "measured" | "note" | "fix" | "clock" | "solved"

/** LogNotice is something about a log that a person should know. */
export interface LogNotice {
  code: string
  /** one sentence with the next step */
  text: string
}

/** Fired is what recent strikes share against what was in the water when they struck. */
export interface Fired {
  /** recent ones, a flurry once */
  strikes: number
  /** levels looked at */
  looked: number
  /** strongest evidence first */
  hints: Share[]
}

/** Share is one level's part in recent strikes. */
export interface Share {
  attribute: string
  level: string
  hits: number
  /** strikes on rods for which the attribute is known */
  of: number
  /** hits by the level's share of the lines out at each strike */
  expected: number
  /** log10 of the Bayes factor for a rate of its own against none */
  evidence: number
  /** chance of so many hits or more by luck */
  luck: number
  /** of such a run somewhere among all levels looked at */
  luck_any: number
}

/** DayAsk asks for a day's sheet. */
export interface DayAsk {
  /** of the day's trips */
  events: string
  /** local, as 2026-07-04 */
  day: string
}

/** DayAnswer is what a charter is asked about a day. */
export interface DayAnswer {
  sheet: DaySheet
}

/**
 * TakeInAsk asks to read a file of events: those of another log, a line of JSON each, or a
 * CSV file by a mapping.
 */
export interface TakeInAsk {
  name: string
  text: string
  mapping_name?: string
  mapping?: string
}

/** TakeInAnswer is the events that are well formed, as they stand in the file. */
export interface TakeInAnswer {
  /** a line of JSON each */
  events: string
  count: number
  /** that are not among them */
  refused: number
  /** why, by line */
  faults?: Fault[]
}

/** HandOnAsk asks for what a log says in a form for others. */
export interface HandOnAsk {
  events: string
  /** "strikes" or "effort" as CSV, "gpx", "geojson" */
  format: string
  units?: string
}

/** HandOnAnswer is the file's text. */
export interface HandOnAnswer {
  text: string
  /** strikes left out: where they were is not known */
  without: number
}

/**
 * TripBegins is the first event of a trip. The scenario is kept with it, so that the trip
 * can be solved again years later.
 */
export interface LogTripBegins {
  name?: string
  boat?: string
  /** where she sails from */
  from?: string
  people?: number
  /** those of them who fish */
  anglers?: number
  scenario?: string
  note?: string
}

/** TripEnds ends a trip and takes every line that is still out of the water. */
export interface LogTripEnds {
  note?: string
}

/** LineSet is a line going into the water. */
export interface LogLineSet {
  line: LogLine
  fan?: LogFan
}

/**
 * Line is a rod's line as it fishes: the rig expanded to parts with the attributes of
 * each, and the settings. SI.
 */
export interface LogLine {
  /** the named rig that it was expanded from */
  rig?: RigKind
  holder?: string
  /** what the crew calls it */
  position?: string
  /** of the boat: "port", "starboard" or "" */
  side?: string
  reel?: string
  parts?: LogPart[]
  settings?: Logged
}

/** RigKind is one of the trade's named rigs, a shorthand that expands to parts. */
export type RigKind = "" | "diver" | "slide-through" | "downrigger" | "flat-line" | "weighted" | "board" | "mast-board"

/** Part is one part, from the tip down. */
export interface LogPart {
  id?: string
  kind: PartKind
  gear?: string
  /** the gear's kind: "spoon", "wire" */
  type?: string
  attributes?: Record<string, string>
  length_m?: number
  free?: boolean
  on?: string
  parts?: LogPart[]
}

/**
 * Logged are a rod's settings as a log keeps them: plain numbers in SI and words, with
 * those of its device.
 */
export interface Logged {
  line_out_m?: number
  count_from?: string
  colors?: number
  section_m?: number
  lead_m?: number
  dial?: number
  side?: string
  ring?: boolean
  tripped?: boolean
  above_ball_m?: number
  /** of the downrigger */
  cable_out_m?: number
  along_m?: number
  /** of the mast board */
  tow_line_out_m?: number
  set_load_n?: number
  trip_load_n?: number
  bottom?: string
}

/** Fan is where a rod's lures ran, as solved for the water and speed of the moment. */
export interface LogFan {
  status: Status
  /** speed that it was solved for */
  surface_mps: number
  tip_pull_n: number
  line_angle_deg: number
  lures?: LogLure[]
  /** version that solved it */
  engine?: string
}

/** Lure is one lure's place, with the 80 % interval of its depth. */
export interface LogLure {
  id: string
  depth_m: number
  depth_lo_m: number
  depth_hi_m: number
  side_m: number
  astern_m: number
  through_water_mps: number
  temperature_c?: number
}

/**
 * LineChanged is a line that fishes on with other settings. The whole line is given, as
 * when it is set.
 */
export interface LogLineChanged {
  line: LogLine
  fan?: LogFan
}

/** LineChecked is a line seen to run free. */
export interface LogLineChecked {
  note?: string
}

/** LineFouled is a line found fouled: nothing fished since it was last known to run free. */
export interface LogLineFouled {
  /** weed, fleas, another line */
  with?: string
  note?: string
}

/** LineIn is a line reeled in. */
export interface LogLineIn {
  note?: string
}

/** Strike is a fish taking hold. Of it nothing need be known but the rod. */
export interface LogStrike {
  /** the line's event; zero: by rod and time */
  set?: string
  /** part id, for a rod with several */
  lure?: string
  species?: string
  fan?: LogFan
  note?: string
}

/** Landed is a fish brought to the boat. */
export interface LogLanded {
  /** zero: the rod's last */
  strike?: string
  species?: string
  length_m?: number
  mass_kg?: number
  fate?: LogFate
  note?: string
}

/** Lost is a fish that got off. */
export interface LogLost {
  /** zero: the rod's last */
  strike?: string
  species?: string
  /** the line fishes on */
  still_out?: boolean
  note?: string
}

/** Conditions are what was read or seen. Each stands until it is given again. */
export interface LogConditions {
  over_ground_mps?: number
  /** through the surface water */
  surface_mps?: number
  /** through the water at ProbeDepth */
  probe_mps?: number
  probe_depth_m?: number
  /** of the bow, from true north */
  heading_deg?: number
  temperature_c?: ([number, number])[]
  current?: LogCurrent[]
  bottom_m?: number
  sky?: string
  /** of the water, in words */
  clarity?: string
  secchi_m?: number
  note?: string
}

/** Current is the current at one depth, over ground, flowing toward. */
export interface LogCurrent {
  depth_m: number
  mps: number
  toward_deg: number
}

/** Reading is something measured at a rod. For learning the boat's own numbers. */
export interface LogReading {
  what: LogReadingKind
  /** in the unit that What ends in */
  value: number
  /** one standard deviation, the same unit; 0: not known */
  sd?: number
  /** id of the part, "ball", "" for the lure */
  part?: string
  /** the line's event; zero: by rod and time */
  set?: string
  /** the instrument, in words */
  with?: string
  note?: string
}

/** ReadingKind names what was measured. */
export type LogReadingKind = "depth_m" | "side_m" | "astern_m" | "slant_m" | "pull_n" | "angle_deg" | "touched_m" | "clear_m"

/** Note is anything worth keeping. */
export interface LogNote {
  text: string
}

/**
 * Fix corrects an event: what is given replaces what was there. A fix may itself be
 * fixed, and to void it is to undo it. Of two that say different things of one event
 * the one with the later id stands. What begins a trip stays such an event, and no other
 * becomes one.
 */
export interface LogFix {
  of: string
  /** it never happened */
  void?: boolean
  at?: string
  /** the zero id: of no trip */
  trip?: string
  rod?: string
  /** the kind that it becomes with Change or Body; may be what it was */
  to?: LogKind
  /** the whole body, as the first version corrected it */
  body?: unknown
  /**
   * The members of the body that change: a JSON merge patch (RFC 7386), in which null
   * takes a member away. What it does not name stays, known or not.
   */
  change?: unknown
  why?: string
}

/**
 * Clock says that a device's clock was wrong. Within the event's trip, or in every trip
 * when it has none.
 */
export interface LogClock {
  /** the device */
  of: string
  /** to add to what it showed */
  shift_ms: number
  /** only to what it showed before this, when it was set right */
  until?: string
}

/** Solved is where the lures ran at an event that was written without solving. */
export interface LogSolved {
  of: string
  fan: LogFan
}

/** Place is a position on the earth, WGS 84. For the log, not for navigation. */
export interface Place {
  /** degrees, north positive */
  lat: number
  /** degrees, east positive */
  lon: number
}

/**
 * DaySheet is what a charter is asked about a day. What must be reported, how and by when
 * is for local rules to decide.
 */
export interface DaySheet {
  /** local, as 2026-07-04 */
  day: string
  trips: DayTrip[]
  species: DaySpecies[]
  strikes: number
  lost: number
  strikes_of_unknown_end: number
  rod_hours: number
}

/** DayTrip is one trip of the day. */
export interface DayTrip {
  trip?: string
  name?: string
  boat?: string
  from: string
  to: string
  ended: boolean
  /** from leaving to return */
  hours: number
  /** with any line fishing */
  lines_hours: number
  /** 0: not given */
  anglers: number
  /** anglers times the hours with lines fishing */
  angler_hours: number
  /** most at once */
  lines: number
  kept: number
  released: number
}

/** DaySpecies is what was caught of one kind of fish. */
export interface DaySpecies {
  /** "": not known */
  species: string
  kept: number
  released: number
  landed_fate_not_given: number
  /** of those weighed */
  kept_mass_kg?: number
  kept_weighed?: number
}

/** Progress is how far a long operation has come. */
export interface Progress {
  done: number
  /** 0: not known */
  of: number
  text?: string
  /** score of the best so far, 0 to 1 */
  best?: number
}
