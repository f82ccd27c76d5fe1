//! The AprilTag family 36h11: 587 square tags of 8 x 8 modules, any two of which differ in at least
//! 11 of their 36 payload bits whatever way they are turned.
//!
//! A tag number enters, the colour of each module leaves. Columns and rows count from the upright tag's
//! top-left corner, black border included, so both run from 0 to 7 and the payload stands in 1 to 6.
//! "Upright" is as `apriltag_to_image` of the AprilTag C library draws it.
//!
//! Codes and places of the bits: file `tag36h11.c` of the AprilTag C library 3.4.5 (as packed in the
//! crate apriltag-sys 0.4.0), Copyright (C) 2013-2016 The Regents of The University of Michigan, BSD 2-clause;
//! notice at the end of this comment. Method: E. Olson, "AprilTag: A robust and flexible visual fiducial system",
//! ICRA 2011, doi:10.1109/ICRA.2011.5979561.
//!
//! > Redistribution and use in source and binary forms, with or without modification, are permitted provided that
//! > the following conditions are met: 1. Redistributions of source code must retain the above copyright notice,
//! > this list of conditions and the following disclaimer. 2. Redistributions in binary form must reproduce the
//! > above copyright notice, this list of conditions and the following disclaimer in the documentation and/or
//! > other materials provided with the distribution. THIS SOFTWARE IS PROVIDED BY THE COPYRIGHT HOLDERS AND
//! > CONTRIBUTORS "AS IS" AND ANY EXPRESS OR IMPLIED WARRANTIES, INCLUDING, BUT NOT LIMITED TO, THE IMPLIED
//! > WARRANTIES OF MERCHANTABILITY AND FITNESS FOR A PARTICULAR PURPOSE ARE DISCLAIMED. IN NO EVENT SHALL THE
//! > COPYRIGHT OWNER OR CONTRIBUTORS BE LIABLE FOR ANY DIRECT, INDIRECT, INCIDENTAL, SPECIAL, EXEMPLARY, OR
//! > CONSEQUENTIAL DAMAGES (INCLUDING, BUT NOT LIMITED TO, PROCUREMENT OF SUBSTITUTE GOODS OR SERVICES; LOSS OF
//! > USE, DATA, OR PROFITS; OR BUSINESS INTERRUPTION) HOWEVER CAUSED AND ON ANY THEORY OF LIABILITY, WHETHER IN
//! > CONTRACT, STRICT LIABILITY, OR TORT (INCLUDING NEGLIGENCE OR OTHERWISE) ARISING IN ANY WAY OUT OF THE USE OF
//! > THIS SOFTWARE, EVEN IF ADVISED OF THE POSSIBILITY OF SUCH DAMAGE.

/// Modules along one side of a tag, black border included.
pub const MODULES: usize = 8;

/// Modules along one side of the payload, which stands one module inside the tag.
pub const PAYLOAD: usize = 6;

/// Bits of a code.
pub const BITS: u32 = 36;

/// Number of tags in the family.
pub const TAGS: usize = 587;

/// Which bit of the code lies in each module of the payload, `BIT_AT[row][col]`, counted from the most
/// significant of the 36 (bit 0 here is bit 35 of the number). A set bit is white.
pub const BIT_AT: [[u32; PAYLOAD]; PAYLOAD] = [
    [0, 1, 2, 3, 4, 9],
    [31, 5, 6, 7, 14, 10],
    [30, 34, 8, 17, 15, 11],
    [29, 33, 35, 26, 16, 12],
    [28, 32, 25, 24, 23, 13],
    [27, 22, 21, 20, 19, 18],
];

/// True where the module of tag `id` is black; `col` and `row` from 0 to 7, black border included.
///
/// # Panics
/// When `id` is not of the family or the module not of the tag: both are fixed by the sheet's layout.
#[must_use]
pub const fn module_is_black(id: usize, col: usize, row: usize) -> bool {
    assert!(col < MODULES && row < MODULES, "a tag has 8 x 8 modules");
    if col == 0 || row == 0 || col == MODULES - 1 || row == MODULES - 1 {
        return true;
    }
    (CODES[id] >> (BITS - 1 - BIT_AT[row - 1][col - 1])) & 1 == 0
}

/// The codes, by tag number.
#[rustfmt::skip]
pub const CODES: [u64; TAGS] = [
    0xd_7e00_984b, 0xd_da66_4ca7, 0xd_c4a1_c821, 0xe_17b4_70e9, 0xe_f91d_01b1, 0xf_429c_dd73, 0x0_5da2_9225, 0x1_106c_ba43,
    0x2_23be_d79d, 0x2_1f51_213c, 0x3_3eb1_9ca6, 0x3_f76e_b0f8, 0x4_69a9_7414, 0x4_5dcf_e0b0, 0x4_a646_5f72, 0x5_1801_db96,
    0x5_eb94_6b4e, 0x6_8a7c_c2ec, 0x6_f0ba_2652, 0x7_8765_559d, 0x8_7b83_d129, 0x8_6cc4_a5c5, 0x8_b64d_f90f, 0x9_c577_b611,
    0xa_3810_f2f5, 0xa_f4d7_5b83, 0xb_59a0_3fef, 0xb_b109_6f85, 0xd_1b92_fc76, 0xd_0dd5_09d2, 0xe_2cfd_a160, 0x2_ff49_7c63,
    0x4_7240_671b, 0x5_047a_2e55, 0x6_35ca_87c7, 0x6_9125_4166, 0x6_8f43_d94a, 0x6_ef24_bdb6, 0x8_cdd8_f886, 0x9_de96_b718,
    0xa_ff6e_5a8a, 0xb_ae46_f029, 0xd_225b_6d59, 0xd_f8ba_8c01, 0xe_3744_a22f, 0xf_bb59_375d, 0x1_8a91_6828, 0x2_2f29_c1ba,
    0x2_8688_7d58, 0x4_1392_322e, 0x7_5d18_ecd1, 0x8_7c30_2743, 0x8_c631_7ba9, 0x9_e40f_36d7, 0xc_0e5a_806a, 0xc_c78c_b87c,
    0x1_2d2f_2d01, 0x3_79f3_6a21, 0x6_973f_59ac, 0x7_789e_a9f4, 0x8_f1c7_3e84, 0x8_dd28_7a20, 0x9_4a4e_ee4c, 0xa_4553_79b5,
    0xa_9e92_987d, 0xb_d25c_b40b, 0xb_e98d_3582, 0xd_3d59_72b2, 0x1_4c53_d7c7, 0x4_f179_6936, 0x4_e71f_ed1a, 0x6_6d46_fae0,
    0xa_55ab_b933, 0xe_bee1_acca, 0x1_ad4b_a6a4, 0x3_05b1_7571, 0x5_5361_1351, 0x5_9ca6_2775, 0x7_819c_b6a1, 0xe_db7b_c9eb,
    0x5_b269_4212, 0x7_2e12_d185, 0xe_d615_2e2c, 0x5_bcda_dbf3, 0x7_8e0a_a0c6, 0xc_60a0_b909, 0xe_f9a3_4b0d, 0x3_98a6_621a,
    0xa_8a27_c944, 0x4_b564_304e, 0x5_2902_b4e2, 0x8_5728_0b56, 0xa_91b2_c84b, 0xe_91df_939b, 0x1_fa40_5f28, 0x2_3793_ab86,
    0x6_8c17_729f, 0x9_fbf3_b840, 0x3_6922_413c, 0x4_eb5f_946e, 0x5_33fe_2404, 0x6_3de7_d35e, 0x9_25ed_dc72, 0x9_9b8b_3896,
    0xa_ace4_c708, 0xc_2299_4af0, 0x8_f1ea_e41b, 0xd_95fb_486c, 0x1_3fb7_7857, 0x4_fe09_83a3, 0xd_559b_f8a9, 0xe_1855_d78d,
    0xf_ec8d_aaad, 0x7_1ecb_6d95, 0xd_c9e5_0e4c, 0xc_a3a4_c259, 0x7_40d1_2bbf, 0xa_eedd_18e0, 0xb_509b_9c8e, 0x5_232f_ea1c,
    0x1_9282_d18b, 0x7_6c22_d67b, 0x9_36be_b34b, 0x0_8a5e_a8dd, 0x6_79ea_dc28, 0xa_08e1_19c5, 0x2_0a6e_3e24, 0x7_eab9_c239,
    0x9_6632_c32e, 0x4_70d0_6e44, 0x8_a702_12fb, 0x0_a7e4_251b, 0x9_ec76_2cc0, 0xd_8a3a_1f48, 0xd_b680_f346, 0x4_a1e9_3a9d,
    0x6_38dd_c04f, 0x4_c2fc_c993, 0x0_1ef2_8c95, 0xb_f0d9_792d, 0x6_d275_57c3, 0x6_23f9_77f4, 0x3_5b43_be57, 0xb_b0c4_28d5,
    0xa_6f01_474d, 0x5_a70c_9749, 0x2_0dda_bc3b, 0x2_eabd_78cf, 0x9_0aa1_8f88, 0xa_9ea8_9350, 0x3_cdb3_9b22, 0x8_39a0_8f34,
    0x1_69bb_814e, 0x1_a575_ab08, 0xa_04d3_d5a2, 0xb_f790_2f2b, 0x0_95a5_e65c, 0x9_2e8f_ce94, 0x6_7ef4_8d12, 0x6_400d_bcac,
    0xb_12d8_fb9f, 0x0_347f_45d3, 0xb_3582_6f56, 0xc_546a_c6e4, 0x8_1cc3_5b66, 0x4_1d14_bd57, 0x0_c052_b168, 0x7_d6ce_5018,
    0xa_b4ed_5ede, 0x5_af81_7119, 0xd_1454_b182, 0x2_badb_090b, 0x0_3fcb_4c0c, 0x2_f1c2_8fd8, 0x9_3608_c6f7, 0x4_c93b_a2b5,
    0x0_7d95_0a5d, 0xe_54b3_d3fc, 0x1_5560_cf9d, 0x1_89e4_958a, 0x6_2140_e9d2, 0x7_23bc_1cdb, 0x2_063f_26fa, 0xf_a08a_b19f,
    0x7_9556_41db, 0x6_46b0_1daa, 0x7_1cd4_27cc, 0x0_9a42_f7d4, 0x7_17ed_c643, 0x1_5eb9_4367, 0x8_392e_6bb2, 0x8_3240_8542,
    0x2_b9b8_74be, 0xb_21f4_730d, 0xb_5d8f_24c9, 0x7_dbaf_6931, 0x1_b4e3_3629, 0x1_3452_e710, 0xe_974a_f612, 0x1_df61_d29a,
    0x9_9f25_32ad, 0xe_50ec_71b4, 0x5_df0a_36e8, 0x4_934e_4cea, 0xe_34a0_b4bd, 0xb_7b26_b588, 0x0_f255_118d, 0xd_0c8f_a31e,
    0x0_6a50_c94f, 0xf_28aa_9f06, 0x1_31d1_94d8, 0x6_22e3_da79, 0xa_c747_8303, 0xc_8f25_21d7, 0x6_c9c8_81f5, 0x4_9e38_b60a,
    0x5_13d8_df65, 0xd_7c2b_0785, 0x9_f6f9_d75a, 0x9_f696_6020, 0x1_e1a5_4e33, 0xc_04d6_3419, 0x9_46e0_4cd7, 0x1_bdac_5902,
    0x5_6469_b830, 0xf_fad5_9569, 0x8_6970_e7d8, 0x8_a4b4_1e12, 0xa_d468_8e3b, 0x8_5f8f_5df4, 0xd_833a_0893, 0x2_a36f_dd7c,
    0xd_6a85_7cf2, 0x8_829b_c35c, 0x5_e50d_79bc, 0xf_bb80_35e4, 0xc_1a95_bebf, 0x0_36b0_baf8, 0xe_0da9_64ea, 0xb_6483_689b,
    0x7_c8e2_f4c1, 0x5_b856_a23b, 0x2_fc18_3995, 0xe_914b_6d70, 0xb_3104_1969, 0x1_bb47_8493, 0x0_63e2_b456, 0xf_2a08_2b9c,
    0x8_e5e6_46ea, 0x0_8172_f8f6, 0x0_dacd_923e, 0xe_5dcf_0e2e, 0xb_f944_6bae, 0x4_822d_50d1, 0x2_6e71_0bf5, 0xb_90ba_2a24,
    0xf_3b25_aa73, 0x8_09ad_589b, 0x9_4cc1_e254, 0x5_334a_3adb, 0x5_9288_6b2f, 0xb_f647_04aa, 0x5_66db_f24c, 0x7_2203_e692,
    0x6_4e61_e809, 0xd_7259_aad6, 0x7_b924_aedc, 0x2_df21_84e8, 0x3_53d1_eca7, 0xf_ce30_d7ce, 0xf_7b0f_436e, 0x5_7e8d_8f68,
    0x8_c79e_60db, 0x9_c836_2b2b, 0x6_3a58_04f2, 0x9_2983_53dc, 0x6_f98a_71c8, 0xa_5731_f693, 0x2_1ca5_c870, 0x1_c210_7fd3,
    0x6_181f_6c39, 0x1_9e57_4304, 0x3_2993_7606, 0x0_43d5_c70d, 0x9_b18f_f162, 0x8_e2cc_febf, 0x7_2b7b_9b54, 0x9_b71f_4f3c,
    0x9_35d7_393e, 0x6_5938_881a, 0x6_a5bd_6f2d, 0xa_1978_3306, 0xe_6472_f4d7, 0x8_1163_df5a, 0xa_838e_1cbd, 0x9_8274_8477,
    0x0_50c5_4feb, 0x0_d82f_bb58, 0x2_c4c7_2799, 0x9_7d25_9ad6, 0x2_2d9a_43ed, 0xf_db16_2a9f, 0x0_cb4a_727d, 0x4_fae2_e371,
    0x5_35b5_be8b, 0x4_8795_908a, 0xc_e7c1_8962, 0x4_ea15_4d80, 0x5_0c06_4889, 0x8_d97f_c75d, 0xc_8bd9_ec61, 0x8_3ee8_e8bb,
    0xc_8431_419a, 0x1_aa78_079d, 0x8_111a_a4a5, 0xd_fa3a_69fe, 0x5_1630_d83f, 0x2_d930_fb3f, 0x2_1331_16e5, 0xa_e539_5522,
    0xb_c07a_4e8a, 0x5_7bf0_8ba0, 0x6_cb18_036a, 0xf_0e2e_4b75, 0x3_eb69_2b6f, 0xd_8178_a3fa, 0x2_38cc_e6a6, 0xe_97d5_cdd7,
    0xf_e10d_8d5e, 0xb_3958_4a1d, 0xc_a035_36fd, 0xa_a61f_3998, 0x7_2ff2_3ec2, 0x1_5aa7_d770, 0x5_7a3a_1282, 0xd_1f39_02dc,
    0x6_554c_9388, 0xf_d012_83c7, 0xe_8baa_42c5, 0x7_2cee_6adf, 0xf_6614_b3fa, 0x9_5c37_78a2, 0x7_da4c_ea7a, 0xd_18a5_912c,
    0xd_1164_26e5, 0x2_7c17_bc1c, 0xb_95b5_3bc1, 0xc_8f93_7a05, 0xe_d220_c9bd, 0x0_c97d_72ab, 0x8_fb12_17ae, 0x2_5ca8_a5a1,
    0xb_261b_871b, 0x1_bef0_a056, 0x8_06a5_1179, 0xe_ed24_9145, 0x3_f82a_eceb, 0xc_c56e_9acf, 0x2_e78d_01eb, 0x1_02ce_e17f,
    0x3_7caa_d3d5, 0x1_6ac5_b1ee, 0x2_af16_4ece, 0xd_4cd8_1dc9, 0x1_2263_a7e7, 0x5_7ac7_d117, 0x9_391d_9740, 0x7_aeda_a77f,
    0x9_675a_3c72, 0x2_77f2_5191, 0xe_bb6e_64b9, 0x7_ad3e_f747, 0x1_2759_b181, 0x9_4825_7d4d, 0xb_63a8_50f6, 0x3_a52a_8f75,
    0x4_a019_532c, 0xa_021a_7529, 0xc_c661_876d, 0x4_085a_fd05, 0xe_7048_e089, 0x3_f979_cdc6, 0xd_9da9_071b, 0xe_d2fc_5b68,
    0x7_9d64_c3a1, 0xf_d44e_2361, 0x8_eea4_6a74, 0x4_2233_b9c2, 0xa_e4d1_765d, 0x7_303a_094c, 0x2_d703_3abe, 0x3_dcc2_b0b4,
    0x0_f096_7d09, 0x0_6f0c_d7de, 0x0_9807_aca0, 0x3_a295_cad3, 0x2_b106_b202, 0x3_f38a_828e, 0x7_8af4_6596, 0xb_da2d_c713,
    0x9_a8c8_c9d9, 0x6_a0f2_ddce, 0xa_76af_6fe2, 0x0_86f6_6fa4, 0xd_52d6_3f8d, 0x8_9f7a_6e73, 0xc_c6b2_3362, 0xb_4ebf_3c39,
    0x5_64f3_00fa, 0xe_8de3_a706, 0x7_9a03_3b61, 0x7_65e1_60c5, 0xa_266a_4f85, 0xa_68c3_8c24, 0xd_ca07_11fb, 0x8_5fba_85ba,
    0x3_7a20_7b46, 0x1_58fc_c4d0, 0x0_569d_79b3, 0x7_b1a2_5555, 0xa_8ae2_2468, 0x7_c592_bdfd, 0x0_c59a_5f66, 0xb_1115_daa3,
    0xf_17c8_7177, 0x6_769d_766b, 0x2_b637_356d, 0x1_3d86_85ac, 0xf_24cb_6ec0, 0x0_bd0b_56d1, 0x4_2ff0_e26d, 0xb_4160_9267,
    0x9_6f95_18af, 0xc_56f9_6636, 0x4_a8e1_0349, 0x8_6351_2171, 0xe_a455_d86c, 0xb_d0e2_5279, 0xe_65e3_f761, 0x3_6c84_a922,
    0x8_5fd1_b38f, 0x6_57c9_1539, 0x1_5033_fe04, 0x0_9051_c921, 0xa_b27d_80d8, 0xf_92f7_d0a1, 0x8_eb6b_b737, 0x1_0b5b_0f63,
    0x6_c9c7_ad63, 0xf_66fe_70ae, 0xc_a579_bd92, 0x9_5619_8e4d, 0x2_9e44_05e5, 0xe_44eb_885c, 0x4_1612_456c, 0xe_a45e_0abf,
    0xd_3265_29bd, 0x7_b2c3_3cef, 0x8_0bc9_b558, 0x7_169b_9740, 0xc_37f9_9209, 0x3_1ff6_dab9, 0xc_7951_90ed, 0xa_7636_e95f,
    0x9_df07_5841, 0x5_5a08_3932, 0xa_7cbd_f630, 0x4_09ea_4ef0, 0x9_2a19_91b6, 0x4_b078_dee9, 0xa_e18c_e9e4, 0x5_a6e1_ef35,
    0x1_a403_bd59, 0x3_1ea7_0a83, 0x2_bc3c_4f3a, 0x5_c921_b3cb, 0x0_42da_05c5, 0x1_f667_d16b, 0x4_16a3_68cf, 0xf_bc0a_7a3b,
    0x9_419f_0c7c, 0x8_1be2_fa03, 0x3_4e2c_172f, 0x2_8648_d8ae, 0xc_7acb_b885, 0x4_5f31_eb6a, 0xd_1cfc_0a7b, 0x4_2c4d_260d,
    0xc_f658_4097, 0x9_4b13_2b14, 0x3_c5c5_df75, 0x8_ae59_6fef, 0xa_ea80_54eb, 0x0_ae9c_c573, 0x4_96fb_731b, 0xe_bf10_5662,
    0xa_f9c8_3a37, 0xc_0d64_cd6b, 0x7_b608_159a, 0xe_7443_1642, 0xd_6fb9_d900, 0x2_91e9_9de0, 0x1_0500_ba9a, 0x5_cd05_d037,
    0xa_8725_4fb2, 0x9_d782_4a37, 0x8_b2c7_b47c, 0x3_0c78_8145, 0x2_f4e5_a8be, 0xb_adb8_84da, 0x0_26e0_d5c9, 0x6_fdba_a32e,
    0x3_4758_eb31, 0x5_65cd_1b4f, 0x2_bfd9_0fb0, 0x0_9305_2a6b, 0xd_3c13_c4b9, 0x2_daea_43bf, 0xa_2797_62bc, 0xf_1bd9_f22c,
    0x4_b7fe_c94f, 0x5_4576_1d5a, 0x7_327d_f411, 0x1_b52a_442e, 0x4_9b0c_e108, 0x2_4c76_4bc8, 0x3_7456_3045, 0xa_3e8f_91c6,
    0x0_e6bd_2241, 0xe_0e52_ee3c, 0x0_7e8e_3caa, 0x9_6c2b_7372, 0x3_3acb_dfda, 0xb_15d9_1e54, 0x4_6475_9ac1, 0x6_886a_1998,
    0x5_7f5d_3958, 0x5_a1f5_c1f5, 0x0_b581_58ad, 0xe_7120_53fb, 0x5_352d_db25, 0x4_14b9_8ea0, 0x7_4f89_f546, 0x3_8a56_b3c3,
    0x3_8db0_dc17, 0xa_a016_a755, 0xd_c723_66f5, 0x0_cee9_3d75, 0xb_2fe7_a56b, 0xa_847e_d390, 0x8_713e_f88c, 0xa_217c_c861,
    0x8_bca2_5d7b, 0x4_5552_6818, 0xe_a3a7_a180, 0xa_9536_e5e0, 0x9_b64a_1975, 0x5_bfc7_56bc, 0x0_46aa_169b, 0x5_3a17_f76f,
    0x4_d681_5274, 0xc_ca9c_f3f6, 0x4_013f_cb8b, 0x3_d26c_dfa5, 0x5_7862_31f7, 0x7_d4ab_09ab, 0x9_60b5_ffbc, 0x8_914d_f0d4,
    0x2_fc6f_2213, 0xa_c235_637e, 0x1_51b2_8ed3, 0x4_6f79_b6db, 0x1_382e_0c9f, 0x5_3abf_983a, 0x3_83c4_7ade, 0x3_fcf8_8978,
    0xe_b907_9df7, 0x0_9af0_714d, 0xd_a19d_1bb7, 0x9_a027_49f8, 0x1_c62d_ab9b, 0x1_a137_e44b, 0x2_8677_18c7, 0x3_5815_525b,
    0x7_cd35_c550, 0x2_164f_73a0, 0xe_8b77_2fe0,
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Payload of `id` as the reference writes it: row by row from the top left, white = 1, first module = top bit.
    fn payload_bits(id: usize) -> u64 {
        (1..=PAYLOAD)
            .flat_map(|row| (1..=PAYLOAD).map(move |col| (col, row)))
            .fold(0, |bits, (col, row)| bits << 1 | u64::from(!module_is_black(id, col, row)))
    }

    /// A half turn of a 6 x 6 payload written row by row is the same bits read backwards.
    fn half_turn(bits: u64) -> u64 {
        bits.reverse_bits() >> (u64::BITS - BITS)
    }

    #[test]
    fn every_tag_is_the_published_one() {
        let reference = include_str!("../../tests/references/opencv_apriltag_36h11.txt");
        let rows: Vec<(usize, u64)> = reference
            .lines()
            .filter(|line| !line.starts_with('#'))
            .map(|line| {
                let (id, bits) = line.split_once(' ').expect("id and bits");
                (id.parse().expect("an id"), u64::from_str_radix(bits, 16).expect("hexadecimal"))
            })
            .collect();
        assert_eq!(rows.len(), TAGS);
        for (id, bits) in rows {
            assert_eq!(payload_bits(id), half_turn(bits), "tag {id}");
        }
    }

    #[test]
    fn the_border_is_black() {
        for i in 0..MODULES {
            assert!([(i, 0), (i, 7), (0, i), (7, i)].iter().all(|&(c, r)| module_is_black(0, c, r)));
        }
    }

    #[test]
    fn any_two_tags_differ_in_eleven_bits_at_least() {
        // The "11" of the family's name; a quarter of the family against all of it keeps the test short.
        let least =
            (0..TAGS / 4).flat_map(|a| (a + 1..TAGS).map(move |b| (CODES[a] ^ CODES[b]).count_ones())).min();
        assert_eq!(least, Some(11));
    }
}
