// Signs for the views, drawn for this app.
const paths: Record<string, string> = {
  spread: 'M12 3v3M12 6C9 11 6 14 3 17M12 6c-1 6-2 10-4 14M12 6c3 5 6 8 9 11M12 6c1 6 2 10 4 14',
  log: 'M5 4h11l3 3v13H5zM8 10h8M8 14h8M8 18h4M9 4v3',
  aim: 'M12 3c0 6-3 11-9 14M18 14a4 4 0 1 1-.1 0M18 11v2M18 19v3M13 18h2M21 18h2',
  lay: 'M4 5h16M5 5v9M9 5v13M12 5v6M15 5v13M19 5v9M5 16v1M12 13v1M19 16v1',
  turn: 'M5 21V13a7 7 0 0 1 14 0v3M16 13l3 4 3-4',
  gear: 'M3 9h18l-3 7H7zM12 9V4M12 4l5 4M8 20h8',
  teach: 'M3 20L14 6M14 6l5 3M14 6c5 2 6 7 5 12M4 4h6M4 8h3',
  share: 'M7 12a3 3 0 1 1-.1 0M18 7a3 3 0 1 1-.1 0M18 21a3 3 0 1 1-.1 0M9 13l6-5M9 16l6 4',
  undo: 'M9 6L4 10l5 4M4 10h10a5 5 0 0 1 0 10h-4',
  redo: 'M15 6l5 4-5 4M20 10H10a5 5 0 0 0 0 10h4',
  more: 'M5 7h14M5 12h14M5 17h14',
}

export function Icon(props: { name: keyof typeof paths | string }) {
  return (
    <svg class="icon" viewBox="0 0 24 24" aria-hidden="true" focusable="false">
      <path d={paths[props.name] ?? ''} />
    </svg>
  )
}
