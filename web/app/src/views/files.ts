// Files in and out, by the browser's own means.
import * as doc from '../model/doc'

const most = 1 << 20 // bytes of a scenario file

/** Opens a file that the person chooses. */
export function chooseFile(): Promise<void> {
  return new Promise(resolve => {
    const input = document.createElement('input')
    input.type = 'file'
    input.accept = '.yaml,.yml,.json,application/json,text/yaml'
    input.addEventListener('cancel', () => resolve())
    input.addEventListener('change', async () => {
      const file = input.files?.[0]
      if (file) await openFile(file)
      resolve()
    })
    input.click()
  })
}

export async function openFile(file: File): Promise<void> {
  if (file.size > most) {
    doc.trouble.value = `${file.name} has ${Math.ceil(file.size / 1024)} KB; a scenario file has at most 1,024 KB.`
    return
  }
  await doc.open(await file.text(), `opened ${file.name}`)
}

/** Hands a file to the person. */
export function saveFile(name: string, type: string, content: string): void {
  const address = URL.createObjectURL(new Blob([content], { type }))
  const a = document.createElement('a')
  a.href = address
  a.download = name
  a.click()
  setTimeout(() => URL.revokeObjectURL(address), 10_000)
}

/** A file name from a title: letters, digits and hyphens. */
export function fileName(title: string, ending: string): string {
  const plain = title
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 60)
  return `${plain || 'spread'}.${ending}`
}
