import { Button, TextInput } from '@mantine/core'
import { type DragEvent, useCallback, useRef, useState } from 'react'
import { fleetFolderFiles, fromDrop, fromInput, type PickedFolder } from './picked-folder.ts'

interface FolderChooserProps {
  onFiles: (folder: PickedFolder) => void
  onPath: (path: string) => void
}

/** Three ways to name a fleet folder: choose it, drop it, or type where it is. */
export function FolderChooser({ onFiles, onPath }: FolderChooserProps) {
  const input = useRef<HTMLInputElement>(null)
  // React knows the attribute that makes a file field choose folders, its types do not.
  const folderInput = useCallback((element: HTMLInputElement | null) => {
    if (element) element.webkitdirectory = true
    input.current = element
  }, [])
  const [path, setPath] = useState('')
  const [over, setOver] = useState(false)
  const [picked, setPicked] = useState<PickedFolder>()
  const [complaint, setComplaint] = useState('')

  const take = (folder: PickedFolder | undefined) => {
    setPicked(folder)
    if (!folder) setComplaint('That is not a folder. Drop the folder that holds the CSV files.')
    else if (folder.files.length === 0) setComplaint(`${folder.name || 'The folder'} holds none of the twelve files of a fleet folder.`)
    else {
      setComplaint('')
      onFiles(folder)
    }
  }
  const onDrop = (event: DragEvent) => {
    event.preventDefault()
    setOver(false)
    void fromDrop(event.dataTransfer.items).then(take, () => setComplaint('The dropped folder could not be read. Choose it instead.'))
  }

  return (
    <div className="chooser">
      {/* biome-ignore lint/a11y/noStaticElementInteractions: dropping is a shortcut for the button inside */}
      <div className="chooser-drop" data-over={over || undefined} onDragOver={(event) => { event.preventDefault(); setOver(true) }} onDragLeave={() => setOver(false)} onDrop={onDrop}>
        <Button size="sm" onClick={() => input.current?.click()}>Choose a folder…</Button>
        <span className="quiet">or drop one here</span>
        <input
          ref={folderInput} type="file" className="unheard" tabIndex={-1} aria-label="Fleet folder"
          onChange={(event) => {
            const list = event.currentTarget.files
            if (list && list.length > 0) take(fromInput(list))
            event.currentTarget.value = ''
          }}
        />
      </div>
      <form className="chooser-path" onSubmit={(event) => { event.preventDefault(); if (path.trim()) onPath(path.trim()) }}>
        <TextInput label="Or a folder on this computer" placeholder="Full path, such as C:\Fleet\folder" value={path} onChange={(event) => setPath(event.currentTarget.value)} />
        <Button type="submit" variant="default" disabled={!path.trim()}>Bring in</Button>
      </form>
      {complaint && <p role="alert" className="chooser-complaint">{complaint}</p>}
      {picked && picked.others.length > 0 && <p className="quiet">Left aside: {picked.others.join(', ')}</p>}
      <details className="chooser-files">
        <summary>What a fleet folder holds</summary>
        <p>Up to twelve CSV files, each with a header row: {fleetFolderFiles.join(', ')}. A file may be missing. A thirteenth, attachments.csv, and the folder attachments beside it bring the scans and photos of tickets. Bringing the same folder in twice changes nothing. An import is all or nothing.</p>
      </details>
    </div>
  )
}
