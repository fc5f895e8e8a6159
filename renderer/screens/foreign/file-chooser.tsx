import { Button, TextInput } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { type DragEvent, useRef, useState } from 'react'
import type { ForeignFileSource } from '#core/api/foreign-contract.ts'
import { sendFiles } from '#renderer/client/inbox.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'

/** Its one name in the inbox: what a file is called elsewhere may be no name for a file here. */
const nameInInbox = 'foreign.csv'

/** Three ways to name a CSV file: choose it, drop it, or type where it is. */
export function FileChooser({ onSource }: { onSource: (source: ForeignFileSource) => void }) {
  const input = useRef<HTMLInputElement>(null)
  const [path, setPath] = useState('')
  const [over, setOver] = useState(false)
  const sending = useMutation({
    mutationFn: async (file: File) => ({ inbox: await sendFiles([{ file, path: nameInInbox }]), name: file.name.slice(0, 255) }),
    onSuccess: onSource,
  })
  const take = (files: FileList | null) => {
    const file = files?.[0]
    if (file) sending.mutate(file)
  }
  const onDrop = (event: DragEvent) => {
    event.preventDefault()
    setOver(false)
    take(event.dataTransfer.files)
  }
  return (
    <div className="foreign-chooser">
      {/* biome-ignore lint/a11y/noStaticElementInteractions: dropping is a shortcut for the button inside */}
      <div className="foreign-drop" data-over={over || undefined} onDragOver={(event) => { event.preventDefault(); setOver(true) }} onDragLeave={() => setOver(false)} onDrop={onDrop}>
        <Button size="sm" loading={sending.isPending} onClick={() => input.current?.click()}>Choose a file…</Button>
        <span className="quiet">or drop one here</span>
        <input ref={input} type="file" accept=".csv,.txt,.tsv,text/csv,text/plain" className="unheard" tabIndex={-1} aria-label="CSV file" onChange={(event) => { take(event.currentTarget.files); event.currentTarget.value = '' }} />
      </div>
      <form className="foreign-path" onSubmit={(event) => { event.preventDefault(); if (path.trim()) onSource({ path: path.trim() }) }}>
        <TextInput label="Or a file on this computer" placeholder="Full path, such as C:\Fleet\tickets.csv" value={path} onChange={(event) => setPath(event.currentTarget.value)} />
        <Button type="submit" variant="default" disabled={!path.trim()}>Look into it</Button>
      </form>
      {sending.isError && <ProblemNotice title="The file was not taken" error={sending.error} />}
    </div>
  )
}
