import { Button } from '@mantine/core'
import { use, useEffect, useRef, useState } from 'react'
import { attachmentTypes, sizeText } from '#core/words/attachment-file.ts'
import { phrase } from '#core/words/phrase.ts'
import { keepPhotos, readPhotos } from '#renderer/client/draft-photos.ts'
import { DeskContext } from '#renderer/parts/draft.ts'
import { smallerPhoto } from './smaller-photo.ts'

export interface TicketPhotos {
  readonly photos: readonly File[]
  /** Whether one is still being made smaller. */
  readonly isBusy: boolean
  add(files: readonly File[]): void
  remove(photo: File): void
  clear(): void
}

/** The photos of a form that is not sent yet, kept beside its draft of that name. */
export function useTicketPhotos(draft: string): TicketPhotos {
  const { file } = use(DeskContext)
  const place = file === undefined ? undefined : `${file} ${draft}`
  const [photos, setPhotos] = useState<readonly File[]>([])
  const [busy, setBusy] = useState(0)
  const latest = useRef<readonly File[]>([])
  const show = () => setPhotos(latest.current)
  const keep = async (next: readonly File[]) => {
    latest.current = next
    // A browser that keeps nothing has them until the page is closed.
    if (place !== undefined) await keepPhotos(place, next).catch(() => undefined)
  }
  const leaveOnly = (next: readonly File[]) => {
    void keep(next)
    show()
  }
  useEffect(() => {
    if (place === undefined) return
    let left = false
    readPhotos(place).then(
      (found) => {
        if (left || latest.current.length > 0) return
        latest.current = found
        setPhotos(found)
      },
      () => undefined,
    )
    return () => {
      left = true
    }
  }, [place])
  return {
    photos,
    isBusy: busy > 0,
    add: (files) => {
      setBusy((before) => before + 1)
      void Promise.all(files.map(smallerPhoto)).then(async (drawn) => {
        // What is seen outlives the page.
        await keep([...latest.current, ...drawn])
        show()
        setBusy((before) => before - 1)
      })
    },
    remove: (photo) => leaveOnly(latest.current.filter((each) => each !== photo)),
    clear: () => leaveOnly([]),
  }
}

/** A picture of a photo that is here only. */
function Picture({ photo, alt }: { photo: File; alt: string }) {
  const picture = useRef<HTMLImageElement>(null)
  useEffect(() => {
    const address = URL.createObjectURL(photo)
    if (picture.current) picture.current.src = address
    return () => URL.revokeObjectURL(address)
  }, [photo])
  return <img ref={picture} alt={alt} />
}

/** The photos of a ticket: taken with the camera, or chosen, seen, and taken off again. */
export function TicketPhotosPart({ photos: { photos, isBusy, add, remove } }: { photos: TicketPhotos }) {
  const camera = useRef<HTMLInputElement>(null)
  const chosen = useRef<HTMLInputElement>(null)
  const take = (input: HTMLInputElement) => {
    if (input.files && input.files.length > 0) add([...input.files])
    input.value = ''
  }
  return (
    <fieldset className="ticket-photos">
      <legend>{phrase('Photo of the ticket')}</legend>
      <div className="flow">
        <Button loading={isBusy} onClick={() => camera.current?.click()}>
          {phrase('Take a photo')}
        </Button>
        <Button onClick={() => chosen.current?.click()}>{phrase('Choose one…')}</Button>
      </div>
      <input
        ref={camera}
        type="file"
        accept="image/*"
        capture="environment"
        className="unheard"
        tabIndex={-1}
        aria-label={phrase('Photo of the ticket by the camera')}
        onChange={({ currentTarget }) => take(currentTarget)}
      />
      <input
        ref={chosen}
        type="file"
        accept={attachmentTypes.join(',')}
        multiple
        className="unheard"
        tabIndex={-1}
        aria-label={phrase('Photo or scan of the ticket')}
        onChange={({ currentTarget }) => take(currentTarget)}
      />
      {photos.length > 0 && (
        <ul className="bare ticket-photo-list" aria-label={phrase('Photos of the ticket')}>
          {photos.map((photo, i) => (
            <li key={`${photo.name} ${photo.size} ${photo.lastModified}`}>
              {photo.type.startsWith('image/') && (
                <Picture photo={photo} alt={phrase('Photo {number} of the ticket', { number: i + 1 })} />
              )}
              <span className="quiet">
                {photo.name}, {sizeText(photo.size)}
              </span>
              <Button onClick={() => remove(photo)}>
                {phrase('Remove')}
                <span className="unheard"> {phrase('photo {number}', { number: i + 1 })}</span>
              </Button>
            </li>
          ))}
        </ul>
      )}
    </fieldset>
  )
}
