import { PasswordInput } from '@mantine/core'
import type { ReactNode } from 'react'
import { chooseLanguage } from '#renderer/client/speech.ts'
import { LanguageSwitch } from '#renderer/parts/language-switch.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import './door.css'

/** The page at the door: what the house is, and one form. */
export const DoorCard = ({ title, children }: { title: string; children: ReactNode }) => (
  <main className="door">
    <div className="door-card">
      <div className="door-name">
        <svg viewBox="0 0 20 16" width="20" height="16" aria-hidden="true">
          <path d="M1.5 0v14.5H20" fill="none" stroke="currentColor" strokeWidth="1.6" />
          <path d="M3.5 12.2 19 2" fill="none" stroke="currentColor" strokeWidth="2.2" />
        </svg>
        Tareline
        <LanguageSwitch className="door-language" onChoose={(language) => void chooseLanguage(language)} />
      </div>
      <ScreenTitle>{title}</ScreenTitle>
      {children}
    </div>
  </main>
)

interface PasswordFieldProps {
  readonly label: string
  readonly value: string
  readonly onType: (text: string) => void
  readonly isNew?: boolean
  readonly problem?: string | null
}

/** A password as it is typed; the browser may keep it. Large enough for a thumb. */
export const PasswordField = ({ label, value, onType, isNew = false, problem = null }: PasswordFieldProps) => (
  <PasswordInput
    size="md"
    label={label}
    value={value}
    error={problem}
    maxLength={1000}
    autoComplete={isNew ? 'new-password' : 'current-password'}
    onChange={(event) => onType(event.currentTarget.value)}
  />
)
