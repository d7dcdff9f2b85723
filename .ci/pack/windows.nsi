; The installer for Windows: for one person, without an administrator's
; password, into their own folder of programs. It never touches the book.
Target amd64-unicode
SetCompressor /SOLID lzma
SetCompressorDictSize 64
Name "Quietwater ${VERSION}"
OutFile "${OUT}"
InstallDir "$LOCALAPPDATA\Programs\Quietwater"
RequestExecutionLevel user
Icon "quietwater.ico"
UninstallIcon "quietwater.ico"
VIProductVersion "${VERSION}.0"
VIAddVersionKey "ProductName" "Quietwater"
VIAddVersionKey "FileDescription" "Quietwater, installer"
VIAddVersionKey "FileVersion" "${VERSION}"
VIAddVersionKey "LegalCopyright" "Apache License 2.0"

; The pages are the system's own words in each language NSIS has of ours; the
; first is taken where the system speaks another.
LoadLanguageFile "${NSISDIR}\Contrib\Language files\English.nlf"
LoadLanguageFile "${NSISDIR}\Contrib\Language files\Spanish.nlf"
LoadLanguageFile "${NSISDIR}\Contrib\Language files\German.nlf"
LoadLanguageFile "${NSISDIR}\Contrib\Language files\French.nlf"
LoadLanguageFile "${NSISDIR}\Contrib\Language files\Italian.nlf"
LoadLanguageFile "${NSISDIR}\Contrib\Language files\Portuguese.nlf"
LoadLanguageFile "${NSISDIR}\Contrib\Language files\Polish.nlf"
LoadLanguageFile "${NSISDIR}\Contrib\Language files\Russian.nlf"
LoadLanguageFile "${NSISDIR}\Contrib\Language files\Turkish.nlf"
LoadLanguageFile "${NSISDIR}\Contrib\Language files\Vietnamese.nlf"
LoadLanguageFile "${NSISDIR}\Contrib\Language files\SimpChinese.nlf"

Page directory
Page instfiles
UninstPage uninstConfirm
UninstPage instfiles

!define KEY "Software\Microsoft\Windows\CurrentVersion\Uninstall\Quietwater"

Section
	SetOutPath "$INSTDIR"
	File "quietwater.exe"
	File "quietwater-console.exe"
	File "LICENCES.txt"
	File "README.txt"
	CreateShortcut "$SMPROGRAMS\Quietwater.lnk" "$INSTDIR\quietwater.exe"
	WriteUninstaller "$INSTDIR\uninstall.exe"
	WriteRegStr HKCU "${KEY}" "DisplayName" "Quietwater"
	WriteRegStr HKCU "${KEY}" "DisplayVersion" "${VERSION}"
	WriteRegStr HKCU "${KEY}" "DisplayIcon" "$INSTDIR\quietwater.exe"
	WriteRegStr HKCU "${KEY}" "UninstallString" '"$INSTDIR\uninstall.exe"'
	WriteRegStr HKCU "${KEY}" "QuietUninstallString" '"$INSTDIR\uninstall.exe" /S'
	WriteRegDWORD HKCU "${KEY}" "NoModify" 1
	WriteRegDWORD HKCU "${KEY}" "NoRepair" 1
SectionEnd

Section "Uninstall"
	Delete "$INSTDIR\quietwater.exe"
	Delete "$INSTDIR\quietwater-console.exe"
	Delete "$INSTDIR\LICENCES.txt"
	Delete "$INSTDIR\README.txt"
	Delete "$INSTDIR\uninstall.exe"
	RMDir "$INSTDIR"
	Delete "$SMPROGRAMS\Quietwater.lnk"
	DeleteRegKey HKCU "${KEY}"
SectionEnd
