import { Button, TextInput } from '@mantine/core'
import { type ReactNode, useCallback, useRef, useState } from 'react'
import './source-chooser.css'

interface SourceChooserProps {
  readonly choose: string
  /** How the field behind the button is heard, and what it takes. */
  readonly input: { readonly label: string; readonly folder?: boolean; readonly accept?: string }
  readonly typed: { readonly label: string; readonly example: string; readonly action: string }
  readonly busy?: boolean
  /** The list is emptied once this returns. */
  readonly onFiles: (files: FileList) => void
  readonly onDrop: (dropped: DataTransfer) => void
  readonly onPath: (path: string) => void
  /** What there is to say about what was chosen. */
  readonly children?: ReactNode
}

/** Three ways to name what is brought in: choose it, drop it, or type where it is. */
export function SourceChooser({
  choose,
  input: { label, folder = false, accept },
  typed,
  busy = false,
  onFiles,
  onDrop,
  onPath,
  children,
}: SourceChooserProps) {
  const input = useRef<HTMLInputElement>(null)
  // React knows the attribute that makes a file field choose folders, its types do not.
  const setInput = useCallback(
    (element: HTMLInputElement | null) => {
      if (element) element.webkitdirectory = folder
      input.current = element
    },
    [folder],
  )
  const [path, setPath] = useState('')
  const [over, setOver] = useState(false)
  return (
    <div className="chooser">
      {/* biome-ignore lint/a11y/noStaticElementInteractions: dropping is a shortcut for the button inside */}
      <div
        className="chooser-drop"
        data-over={over || undefined}
        onDragOver={(event) => {
          event.preventDefault()
          setOver(true)
        }}
        onDragLeave={() => setOver(false)}
        onDrop={(event) => {
          event.preventDefault()
          setOver(false)
          onDrop(event.dataTransfer)
        }}
      >
        <Button size="sm" loading={busy} onClick={() => input.current?.click()}>
          {choose}
        </Button>
        <span className="quiet">or drop one here</span>
        <input
          ref={setInput}
          type="file"
          accept={accept}
          className="unheard"
          tabIndex={-1}
          aria-label={label}
          onChange={(event) => {
            const { files } = event.currentTarget
            if (files && files.length > 0) onFiles(files)
            event.currentTarget.value = ''
          }}
        />
      </div>
      <form
        className="chooser-path"
        onSubmit={(event) => {
          event.preventDefault()
          if (path.trim()) onPath(path.trim())
        }}
      >
        <TextInput
          label={typed.label}
          placeholder={`Full path, such as ${typed.example}`}
          value={path}
          onChange={(event) => setPath(event.currentTarget.value)}
        />
        <Button type="submit" variant="default" disabled={!path.trim()}>
          {typed.action}
        </Button>
      </form>
      {children}
    </div>
  )
}
