import { Button } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { useEffect, useState } from 'react'
import type { AttachmentView } from '#core/contracts/attachment.ts'
import { type PictureSize, isDrawn, pictureSize, whyNotDrawn } from '#core/words/picture-size.ts'
import { client } from '#renderer/client/api.ts'
import { saveFile } from '#renderer/parts/save-file.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { Scrolls } from '#renderer/parts/sheet-table.tsx'
import { phrase } from '#core/words/phrase.ts'

/** An address under which the page can show bytes that it holds; it is let go of with the component or the bytes. */
function useObjectUrl(bytes: Blob | undefined): string | undefined {
  const [url, setUrl] = useState<string>()
  useEffect(() => {
    if (!bytes) return
    const made = URL.createObjectURL(bytes)
    setUrl(made)
    return () => {
      setUrl(undefined)
      URL.revokeObjectURL(made)
    }
  }, [bytes])
  return url
}

/** A picture with how many dots it has, by its header: that is known before any of it is drawn. */
async function readPicture(ticketId: number, sha256: string): Promise<{ file: File; size: PictureSize | undefined }> {
  const file = await client.attachment.read({ ticketId, sha256 })
  return { file, size: pictureSize(new Uint8Array(await file.arrayBuffer())) }
}

function Picture({ ticketId, sha256, alt }: { ticketId: number; sha256: string; alt: string }) {
  const read = useQuery({
    queryKey: ['attachment picture', ticketId, sha256],
    queryFn: () => readPicture(ticketId, sha256),
    staleTime: 'static',
    gcTime: 0,
  })
  const [isWhole, setWhole] = useState(true)
  const [isBroken, setBroken] = useState(false)
  const file = read.data?.file
  const isShown = read.data === undefined || isDrawn(read.data.size)
  const url = useObjectUrl(isShown ? file : undefined)
  if (read.isError) return <ProblemNotice title={phrase('The picture cannot be shown')} error={read.error} />
  return (
    <>
      {!isShown && (
        <p role="alert">
          {phrase('This picture is kept and not drawn: {size} Save a copy of it to see it elsewhere.', {
            size: whyNotDrawn(read.data?.size),
          })}
        </p>
      )}
      {isShown && isBroken && (
        <p role="alert">
          {phrase(
            'This picture cannot be drawn: it may have been cut off on its way. A copy of it can be saved all the same.',
          )}
        </p>
      )}
      {isShown && !isBroken && (
        <Scrolls className="attachment-picture" data-whole={isWhole || undefined} label={phrase('Picture')}>
          {url === undefined ? (
            <output>{phrase('Reading the picture…')}</output>
          ) : (
            <img src={url} alt={alt} onError={() => setBroken(true)} />
          )}
        </Scrolls>
      )}
      <div className="flow attachment-actions">
        {isShown && !isBroken && (
          <Button aria-pressed={!isWhole} onClick={() => setWhole(!isWhole)}>
            {phrase('Actual size')}
          </Button>
        )}
        <Button
          disabled={!file}
          onClick={() => {
            if (file) saveFile(file)
          }}
        >
          {phrase('Save a copy')}
        </Button>
      </div>
    </>
  )
}

/** A picture of a ticket beside its fields, fitted to its place or in its actual size. */
export function AttachmentPicture({
  ticketId,
  ticket,
  attachment,
}: {
  ticketId: number
  ticket: string
  attachment: AttachmentView
}) {
  return (
    <section className="attachment-shown" aria-label={phrase('Picture {name}', { name: attachment.name })}>
      <Picture
        key={attachment.sha256}
        ticketId={ticketId}
        sha256={attachment.sha256}
        alt={phrase('{name}, attached to ticket {ticket}', { name: attachment.name, ticket })}
      />
    </section>
  )
}

/** Longest side on the screen, in its own points and on a finer screen's. */
const sidePx = 2 * 64

let last: Promise<unknown> = Promise.resolve()

/** One picture at a time, so that memory holds one whole. */
function inTurn<T>(work: () => Promise<T>): Promise<T> {
  const turn = last.then(work)
  last = turn.catch(() => undefined)
  return turn
}

/**
 * A picture in small; the whole of it is read and let go of. Errors: those of the procedure; a picture that is none
 * inside.
 */
async function makeThumbnail({ file, size }: Awaited<ReturnType<typeof readPicture>>): Promise<Blob> {
  if (!isDrawn(size)) throw new Error('The picture is not drawn.')
  const whole = await createImageBitmap(file)
  const scale = Math.min(1, sidePx / Math.max(whole.width, whole.height))
  const canvas = document.createElement('canvas')
  canvas.width = Math.max(1, Math.round(whole.width * scale))
  canvas.height = Math.max(1, Math.round(whole.height * scale))
  canvas.getContext('2d')?.drawImage(whole, 0, 0, canvas.width, canvas.height)
  whole.close()
  return new Promise((made, failed) => {
    canvas.toBlob((blob) => (blob ? made(blob) : failed(new Error('The picture could not be drawn.'))))
  })
}

/** An attachment in small: its picture, or the mark of a page. Its name stands beside it. */
export function AttachmentThumbnail({
  ticketId,
  attachment: { sha256, type },
}: {
  ticketId: number
  attachment: AttachmentView
}) {
  const isPicture = type !== 'application/pdf'
  const thumbnail = useQuery({
    queryKey: ['attachment thumbnail', ticketId, sha256],
    enabled: isPicture,
    staleTime: 'static',
    // Bytes under a hash never change.
    queryFn: () => inTurn(async () => makeThumbnail(await readPicture(ticketId, sha256))),
  })
  const url = useObjectUrl(thumbnail.data)
  if (url !== undefined) return <img className="attachment-thumbnail" src={url} alt="" />
  const mark = !isPicture ? 'PDF' : thumbnail.isError ? phrase('No picture') : ''
  return (
    <span className="attachment-thumbnail attachment-page" aria-hidden="true">
      {mark}
    </span>
  )
}
