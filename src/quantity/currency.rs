//! Currencies by the codes of ISO 4217.
//!
//! Units of money and of prices are in `money.rs`, stated rates of exchange in `rate.rs`.

/// The alphabetic codes of the currencies in use, in their order. ISO 4217, list one; from memory.
pub(super) const CODES: [&str; 155] = [
    "AED", "AFN", "ALL", "AMD", "AOA", "ARS", "AUD", "AWG", "AZN", "BAM", "BBD", "BDT", "BGN", "BHD", "BIF", "BMD", "BND", "BOB",
    "BRL", "BSD", "BTN", "BWP", "BYN", "BZD", "CAD", "CDF", "CHF", "CLP", "CNY", "COP", "CRC", "CUP", "CVE", "CZK", "DJF", "DKK",
    "DOP", "DZD", "EGP", "ERN", "ETB", "EUR", "FJD", "FKP", "GBP", "GEL", "GHS", "GIP", "GMD", "GNF", "GTQ", "GYD", "HKD", "HNL",
    "HTG", "HUF", "IDR", "ILS", "INR", "IQD", "IRR", "ISK", "JMD", "JOD", "JPY", "KES", "KGS", "KHR", "KMF", "KPW", "KRW", "KWD",
    "KYD", "KZT", "LAK", "LBP", "LKR", "LRD", "LSL", "LYD", "MAD", "MDL", "MGA", "MKD", "MMK", "MNT", "MOP", "MRU", "MUR", "MVR",
    "MWK", "MXN", "MYR", "MZN", "NAD", "NGN", "NIO", "NOK", "NPR", "NZD", "OMR", "PAB", "PEN", "PGK", "PHP", "PKR", "PLN", "PYG",
    "QAR", "RON", "RSD", "RUB", "RWF", "SAR", "SBD", "SCR", "SDG", "SEK", "SGD", "SHP", "SLE", "SOS", "SRD", "SSP", "STN", "SVC",
    "SYP", "SZL", "THB", "TJS", "TMT", "TND", "TOP", "TRY", "TTD", "TWD", "TZS", "UAH", "UGX", "USD", "UYU", "UZS", "VES", "VND",
    "VUV", "WST", "XAF", "XCD", "XCG", "XOF", "XPF", "YER", "ZAR", "ZMW", "ZWG",
];

/// Codes of currencies without a smaller unit, and those with thousandths; all others have hundredths. ISO 4217, list one; from memory.
pub(super) const WHOLE: [&str; 16] =
    ["BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "VND", "VUV", "XAF", "XOF", "XPF"];
pub(super) const THOUSANDTHS: [&str; 7] = ["BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"];

/// What is shown before a number for US dollars.
pub const DOLLAR: &str = "$";

/// The currency of an amount of money or a price; none for what has no money in it, and where any currency will do.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Currency(u8);

impl Currency {
    /// No currency.
    pub const NONE: Currency = Currency(0);

    /// The currency of a code of ISO 4217, in capitals; the sign of the dollar is USD.
    pub fn of_code(code: &str) -> Option<Currency> {
        let code = if code == DOLLAR { "USD" } else { code };
        let place = CODES.binary_search(&code).ok()?;
        u8::try_from(place + 1).ok().map(Currency)
    }

    /// All currencies in the order of their codes.
    pub fn all() -> impl Iterator<Item = Currency> {
        CODES.iter().filter_map(|code| Currency::of_code(code))
    }

    /// Its place among all currencies, from zero; `None` for none.
    pub fn place(self) -> Option<usize> {
        usize::from(self.0).checked_sub(1)
    }

    /// True for none.
    pub fn is_none(self) -> bool {
        self == Currency::NONE
    }

    /// Its code; empty for none.
    pub fn code(self) -> &'static str {
        usize::from(self.0).checked_sub(1).map_or("", |place| CODES[place])
    }

    /// What stands with a number: `$` for US dollars, the code for all others.
    pub fn symbol(self) -> &'static str {
        match self.code() {
            "USD" | "" => DOLLAR,
            code => code,
        }
    }

    /// Decimals of an amount.
    pub fn decimals(self) -> usize {
        match self.code() {
            code if WHOLE.contains(&code) => 0,
            code if THOUSANDTHS.contains(&code) => 3,
            _ => 2,
        }
    }
}
