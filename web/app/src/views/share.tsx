// Hand it on: a link that carries everything, its QR code, the file.
import { useSignal } from '@preact/signals'
import { useEffect } from 'preact/hooks'
import { encode } from 'uqr'
import { askLong } from '../engine/client'
import * as doc from '../model/doc'
import { textAt } from '../model/form'
import { Button } from '../ui/controls'
import { Card } from './card'
import { chooseFile, fileName, saveFile } from './files'

const mostInQR = 2900 // characters; a code of more cannot be read off a screen

export function Share() {
  const link = useSignal('')
  const said = useSignal('')
  const text = doc.text.value
  useEffect(() => {
    let here = true
    link.value = ''
    said.value = ''
    if (text !== null) {
      void doc
        .commit()
        .then(() => askLong('link', { text: doc.text.value ?? '' }))
        .then(
          a => {
            if (here) link.value = `${location.origin}${location.pathname}#${a.payload}`
          },
          e => {
            if (here) said.value = e instanceof Error ? `${e.message}.` : ''
          },
        )
    }
    return () => {
      here = false
    }
  }, [text])
  const name = textAt(doc.form.value, 'name') ?? 'spread'
  const copy = async () => {
    try {
      await navigator.clipboard.writeText(link.value)
      said.value = 'Link copied.'
    } catch {
      said.value = 'This browser does not let the app copy. Mark the link below and copy it.'
    }
  }
  const send = async () => {
    try {
      await navigator.share({ title: `sternfan: ${name}`, url: link.value })
    } catch {
      // The person thought better of it.
    }
  }
  return (
    <div class="page share">
      <h1>Share “{name}”</h1>
      {text === null ? (
        <p>Nothing is set yet: set a rod or open the demo first, under Spread.</p>
      ) : (
        <>
          <Card name={name} />
          <section aria-labelledby="share-link">
            <h2 id="share-link">A link</h2>
            <p>
              The link holds the whole scenario, after the # sign. That part of a link is not sent to any
              server: whoever has the link has the spread, and nobody else.
            </p>
            <div class="setting-row">
              <Button kind="main" disabled={!link.value} onClick={() => void copy()}>
                Copy the link
              </Button>
              {'share' in navigator && (
                <Button disabled={!link.value} onClick={() => void send()}>
                  Send it
                </Button>
              )}
            </div>
            <p role="status">{said.value}</p>
            <label class="control-label" for="link">
              The link, {link.value.length} characters
            </label>
            <textarea
              id="link"
              class="link"
              readOnly
              rows={3}
              value={link.value}
              onFocus={e => e.currentTarget.select()}
            />
          </section>
          <section aria-labelledby="share-qr">
            <h2 id="share-qr">A QR code</h2>
            {link.value.length > mostInQR ? (
              <p>
                This scenario is too long for a QR code ({link.value.length} characters, {mostInQR} fit). Send
                the link or the file.
              </p>
            ) : (
              link.value && <QR text={link.value} />
            )}
          </section>
          <section aria-labelledby="share-file">
            <h2 id="share-file">The file</h2>
            <p>The same scenario as a file, for the program or for another phone.</p>
            <div class="setting-row">
              <Button onClick={() => saveFile(fileName(name, 'yaml'), 'text/yaml', doc.text.value ?? '')}>
                Save the file
              </Button>
            </div>
          </section>
        </>
      )}
      <section aria-labelledby="share-open">
        <h2 id="share-open">Open another</h2>
        <p>What is open now can be had back by undo.</p>
        <div class="setting-row">
          <Button onClick={() => void chooseFile()}>Open a file</Button>
          {text !== null && <Button onClick={() => doc.close()}>Put this away and begin anew</Button>}
        </div>
      </section>
    </div>
  )
}

/** A QR code: dark on light in every scheme, since that is what cameras read. */
function QR(props: { text: string }) {
  const code = encode(props.text, { ecc: 'L', border: 4 })
  let d = ''
  code.data.forEach((row, y) => {
    row.forEach((dark, x) => {
      if (dark) d += `M${x} ${y}h1v1h-1z`
    })
  })
  return (
    <svg
      class="qr"
      viewBox={`0 0 ${code.size} ${code.size}`}
      role="img"
      aria-label="QR code of the link"
      shape-rendering="crispEdges"
    >
      <rect class="qr-light" width={code.size} height={code.size} />
      <path class="qr-dark" d={d} />
    </svg>
  )
}
