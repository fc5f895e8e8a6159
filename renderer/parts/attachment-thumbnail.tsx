import { useQuery } from '@tanstack/react-query'
import type { AttachmentView } from '#core/api/attachment-contract.ts'
import { client } from '#renderer/client/api.ts'
import { useObjectUrl } from '#renderer/parts/object-url.ts'

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
async function makeThumbnail(file: Blob): Promise<Blob> {
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
    queryFn: () => inTurn(async () => makeThumbnail(await client.attachment.read({ ticketId, sha256 }))),
  })
  const url = useObjectUrl(thumbnail.data)
  if (url !== undefined) return <img className="attachment-thumbnail" src={url} alt="" />
  const mark = !isPicture ? 'PDF' : thumbnail.isError ? 'No picture' : ''
  return (
    <span className="attachment-thumbnail attachment-page" aria-hidden="true">
      {mark}
    </span>
  )
}
