import { Button, Modal } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import type { AttachmentView } from '#core/api/attachment-contract.ts'
import { api } from '#renderer/client/api.ts'
import { useObjectUrl } from '#renderer/parts/object-url.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { saveFile } from '#renderer/parts/save-file.ts'

function Picture({ ticketId, sha256, alt }: { ticketId: number; sha256: string; alt: string }) {
  const file = useQuery({
    ...api.attachment.read.queryOptions({ input: { ticketId, sha256 } }),
    staleTime: 'static',
    gcTime: 0,
  })
  const [isWhole, setWhole] = useState(true)
  const [isBroken, setBroken] = useState(false)
  const { data } = file
  const url = useObjectUrl(data)
  if (file.isError) return <ProblemNotice title="The picture cannot be shown" error={file.error} />
  return (
    <>
      {isBroken ? (
        <p role="alert">
          This picture cannot be drawn: it may have been cut off on its way. A copy of it can be saved all the same.
        </p>
      ) : (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: a picture larger than its frame is scrolled by keys
        <section className="attachment-picture" data-whole={isWhole || undefined} tabIndex={0} aria-label="Picture">
          {url === undefined ? (
            <output>Reading the picture…</output>
          ) : (
            <img src={url} alt={alt} onError={() => setBroken(true)} />
          )}
        </section>
      )}
      <div className="attachment-actions">
        {!isBroken && (
          <Button variant="default" aria-pressed={!isWhole} onClick={() => setWhole(!isWhole)}>
            Actual size
          </Button>
        )}
        <Button
          variant="default"
          disabled={!data}
          onClick={() => {
            if (data) saveFile(data)
          }}
        >
          Save a copy
        </Button>
      </div>
    </>
  )
}

/** Shows a picture of a ticket, fitted to the window or in its actual size. */
export function AttachmentDialog({
  ticketId,
  ticket,
  attachment,
  onClose,
}: {
  ticketId: number
  ticket: string
  attachment: AttachmentView | null
  onClose: () => void
}) {
  return (
    <Modal
      opened={attachment !== null}
      onClose={onClose}
      title={attachment?.name ?? ''}
      size="min(1100px, 94vw)"
      returnFocus
    >
      {attachment && (
        <Picture
          ticketId={ticketId}
          sha256={attachment.sha256}
          alt={`${attachment.name}, attached to ticket ${ticket}`}
        />
      )}
    </Modal>
  )
}
