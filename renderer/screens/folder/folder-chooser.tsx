import { useState } from 'react'
import { SourceChooser } from '#renderer/parts/source-chooser.tsx'
import { fleetFolderFiles, fromDrop, fromInput, type PickedFolder } from './picked-folder.ts'

interface FolderChooserProps {
  onFiles: (folder: PickedFolder) => void
  onPath: (path: string) => void
}

/** Names the fleet folder that is to be brought in, and says what of it is taken. */
export function FolderChooser({ onFiles, onPath }: FolderChooserProps) {
  const [picked, setPicked] = useState<PickedFolder>()
  const [complaint, setComplaint] = useState('')

  const take = (folder: PickedFolder | undefined) => {
    setPicked(folder)
    if (!folder) setComplaint('That is not a folder. Drop the folder that holds the CSV files.')
    else if (folder.files.length === 0)
      setComplaint(`${folder.name || 'The folder'} holds none of the twelve files of a fleet folder.`)
    else {
      setComplaint('')
      onFiles(folder)
    }
  }

  return (
    <SourceChooser
      choose="Choose a folder…"
      input={{ label: 'Fleet folder', folder: true }}
      typed={{ label: 'Or a folder on this computer', example: 'C:\\Fleet\\folder', action: 'Bring in' }}
      onFiles={(files) => take(fromInput(files))}
      onPath={onPath}
      onDrop={({ items }) =>
        void fromDrop(items).then(take, () => setComplaint('The dropped folder could not be read. Choose it instead.'))
      }
    >
      {complaint && (
        <p role="alert" className="folder-complaint">
          {complaint}
        </p>
      )}
      {picked && picked.others.length > 0 && <p className="quiet">Left aside: {picked.others.join(', ')}</p>}
      <details className="folder-files">
        <summary>What a fleet folder holds</summary>
        <p>
          Up to twelve CSV files, each with a header row: {fleetFolderFiles.join(', ')}. A file may be missing. A
          thirteenth, attachments.csv, and the folder attachments beside it bring the scans and photos of tickets.
          Bringing the same folder in twice changes nothing. An import is all or nothing.
        </p>
      </details>
    </SourceChooser>
  )
}
